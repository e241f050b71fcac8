// The page at the bench: what is typed is sent without leaving the page, so
// that the field keeps the focus; the clocks run; x on an empty field strikes
// the last reading out. What is shown comes from the server each time, so that
// a page that was closed shows the same when it is opened again.

/** clock writes seconds as 4:05 or 1:04:05. */
function clock(seconds: number): string {
  const s = Math.abs(Math.round(seconds));
  const two = (n: number): string => String(n).padStart(2, "0");
  const h = Math.floor(s / 3600);
  const m = Math.floor(s / 60) % 60;
  const text = h > 0 ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
  return seconds < -0.5 ? `−${text}` : text;
}

export class BenchEntry extends HTMLElement {
  private timer = 0;
  private busy = false;

  connectedCallback(): void {
    this.addEventListener("submit", this.onSubmit);
    this.addEventListener("keydown", this.onKey);
    this.timer = window.setInterval(() => this.tick(), 250);
    this.tick();
    this.field()?.focus();
  }

  disconnectedCallback(): void {
    this.removeEventListener("submit", this.onSubmit);
    this.removeEventListener("keydown", this.onKey);
    window.clearInterval(this.timer);
  }

  private field(): HTMLInputElement | null {
    return this.querySelector<HTMLInputElement>("input[name=reading]");
  }

  private onSubmit = (event: SubmitEvent): void => {
    const form = event.target as HTMLFormElement;
    if (form.action.endsWith("/finish")) return;
    event.preventDefault();
    void this.send(form.action, new FormData(form));
  };

  private onKey = (event: KeyboardEvent): void => {
    const field = this.field();
    if (event.target !== field || !field || field.value !== "") return;
    if (event.key.toLowerCase() !== "x" || event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
    event.preventDefault();
    const form = this.querySelector<HTMLFormElement>("form[action$='/strike']");
    if (form) void this.send(form.action, new FormData(form));
  };

  /** send posts a form and puts what the server then shows in place. */
  private async send(action: string, data: FormData): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    try {
      const body = new URLSearchParams();
      data.forEach((value, name) => body.append(name, String(value)));
      const answer = await fetch(action, { method: "POST", body });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.querySelector("bench-entry");
      if (!fresh) {
        window.location.reload();
        return;
      }
      this.replaceChildren(...Array.from(fresh.childNodes).map((n) => document.importNode(n, true)));
      this.tick();
    } catch {
      this.say("Not sent: the program does not answer. What you typed still stands in the field; start the program again and press Enter.");
    } finally {
      this.busy = false;
      this.field()?.focus();
    }
  }

  private say(text: string): void {
    let p = this.querySelector<HTMLElement>(".bench .wrong");
    if (!p) {
      p = document.createElement("p");
      p.className = "wrong";
      p.setAttribute("role", "alert");
      this.querySelector("form.take")?.before(p);
    }
    p.textContent = text;
  }

  /** tick runs the clocks: time since power-on, and time to the next reading. */
  private tick(): void {
    const now = Date.now();
    const since = this.querySelector<HTMLElement>("[data-since]");
    if (since?.dataset.since) since.textContent = `${clock((now - Date.parse(since.dataset.since)) / 1000)} from power-on`;
    const due = this.querySelector<HTMLElement>("[data-due]");
    if (due?.dataset.due) {
      const left = (Date.parse(due.dataset.due) - now) / 1000;
      due.textContent = left > 0.5 ? `Next reading in ${clock(left)}` : left > -15 ? "Read now" : `Read now, due ${clock(-left)} ago`;
    }
  }
}
