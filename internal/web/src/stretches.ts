// The stretches that figures came from are heard at a click, in the player of
// the page. Without this a browser opens the sound by itself.

export class SoundStretches extends HTMLElement {
  private end = 0;

  connectedCallback(): void {
    const player = this.querySelector("audio");
    if (!player) return;
    for (const link of this.querySelectorAll<HTMLAnchorElement>("a[data-from]")) {
      link.addEventListener("click", (e) => {
        e.preventDefault();
        this.end = Number(link.dataset.to);
        player.currentTime = Number(link.dataset.from);
        void player.play();
      });
    }
    player.addEventListener("timeupdate", () => {
      if (this.end && player.currentTime >= this.end) {
        player.pause();
        this.end = 0;
      }
    });
    player.addEventListener("seeking", () => {
      if (player.currentTime > this.end) this.end = 0;
    });
  }
}
