// A file is dropped on the field instead of being chosen, and a large one shows
// how far it has come and can be stopped.

export class DropFile extends HTMLElement {
  private request: XMLHttpRequest | null = null;

  connectedCallback(): void {
    const drop = this.querySelector<HTMLElement>(".drop");
    const form = this.querySelector("form");
    const input = this.querySelector<HTMLInputElement>("input[type=file]");
    const stop = this.querySelector<HTMLButtonElement>(".going button");
    if (!drop || !form || !input || !stop) return;
    drop.addEventListener("dragover", (e) => {
      e.preventDefault();
      drop.classList.add("over");
    });
    drop.addEventListener("dragleave", () => drop.classList.remove("over"));
    drop.addEventListener("drop", (e) => {
      e.preventDefault();
      drop.classList.remove("over");
      if (!e.dataTransfer?.files.length) return;
      input.files = e.dataTransfer.files;
      form.requestSubmit();
    });
    form.addEventListener("submit", (e) => {
      e.preventDefault();
      this.send(form);
    });
    stop.addEventListener("click", () => this.request?.abort());
  }

  private send(form: HTMLFormElement): void {
    const going = this.querySelector<HTMLElement>(".going");
    const bar = this.querySelector("progress");
    const word = this.querySelector<HTMLElement>(".going [role=status]");
    const request = new XMLHttpRequest();
    this.request = request;
    const over = (text: string): void => {
      form.hidden = false;
      if (going) going.hidden = text === "";
      if (word) word.textContent = text;
      if (bar) bar.hidden = true;
      going?.querySelector<HTMLElement>(".buttons")?.toggleAttribute("hidden", true);
      this.request = null;
    };
    request.upload.onprogress = (e) => {
      if (!e.lengthComputable || !bar || !word) return;
      bar.value = (100 * e.loaded) / e.total;
      word.textContent = `${Math.round(bar.value)} % sent.`;
    };
    request.onload = () => {
      if (request.status < 400) {
        window.location.assign(request.responseURL);
        return;
      }
      const page = new DOMParser().parseFromString(request.responseText, "text/html");
      over(page.querySelector("main")?.textContent?.replace(/\s+/g, " ").trim() ?? "It could not be taken in.");
    };
    request.onerror = () => over("Not sent: the program does not answer, or the file changed meanwhile.");
    request.onabort = () => over("Stopped. Nothing was kept.");
    if (going && bar && word) {
      form.hidden = true;
      going.hidden = false;
      bar.hidden = false;
      bar.value = 0;
      word.textContent = "Sending.";
      going.querySelector<HTMLElement>(".buttons")?.toggleAttribute("hidden", false);
    }
    request.open("POST", form.action);
    request.send(new FormData(form));
  }
}
