// The page of live sound: what comes in, in numbers that are read from a metre
// away, and one key for everything: space begins, marks, and held down or
// pressed twice ends. A foot pedal that types a space does the same.
import { Capture, open } from "./capture";
import { LiveStatus, show } from "./livereadout";

/** pressedTwiceMs is how close two presses must be to end. */
const pressedTwiceMs = 450;
/** heldMs is how long a press must be to end. */
const heldMs = 900;
/** most bytes that may wait to be sent before it is said that the computer
 * does not keep up. */
const mostWaiting = 8 << 20;

export class LiveSound extends HTMLElement {
  private socket: WebSocket | null = null;
  private capture: Capture | null = null;
  private events: EventSource | null = null;
  private running = false;
  private lastPress = 0;
  private downAt = 0;
  private ended = false;

  connectedCallback(): void {
    document.addEventListener("keydown", this.onDown);
    document.addEventListener("keypress", this.onPress);
    document.addEventListener("keyup", this.onUp);
    this.button("begin")?.addEventListener("click", () => void this.begin());
    this.button("mark")?.addEventListener("click", () => this.mark());
    this.button("end")?.addEventListener("click", () => this.end());
    window.addEventListener("beforeunload", this.onLeave);
    if (this.dataset.watch) this.watch(this.dataset.watch);
    void this.listDevices();
  }

  disconnectedCallback(): void {
    document.removeEventListener("keydown", this.onDown);
    document.removeEventListener("keypress", this.onPress);
    document.removeEventListener("keyup", this.onUp);
    window.removeEventListener("beforeunload", this.onLeave);
    this.events?.close();
    this.capture?.stop();
  }

  private button(name: string): HTMLButtonElement | null {
    return this.querySelector<HTMLButtonElement>(`button[data-do=${name}]`);
  }

  private onLeave = (e: BeforeUnloadEvent): void => {
    if (this.running && !this.ended && !this.dataset.watch) e.preventDefault();
  };

  /** typing says whether the key belongs to a field. */
  private typing(e: KeyboardEvent): boolean {
    const t = e.target as HTMLElement | null;
    return !!t?.closest("input:not([type=checkbox]), textarea, select");
  }

  private onDown = (e: KeyboardEvent): void => {
    if (e.key !== " " || this.typing(e) || e.ctrlKey || e.altKey || e.metaKey) return;
    e.preventDefault();
    if (e.repeat) {
      if (this.downAt && performance.now() - this.downAt >= heldMs) this.end();
      return;
    }
    const now = performance.now();
    this.downAt = now;
    if (!this.running) {
      void this.begin();
    } else if (now - this.lastPress < pressedTwiceMs) {
      this.end();
    } else {
      this.mark();
    }
    this.lastPress = now;
  };

  /** onPress keeps a space that comes by itself, as from some pedals, from
   * scrolling the numbers away. */
  private onPress = (e: KeyboardEvent): void => {
    if (e.key === " " && !this.typing(e)) e.preventDefault();
  };

  private onUp = (e: KeyboardEvent): void => {
    if (e.key !== " ") return;
    if (this.running && this.downAt && performance.now() - this.downAt >= heldMs) this.end();
    this.downAt = 0;
  };

  /** listDevices offers the inputs by name, where the browser tells them. */
  private async listDevices(): Promise<void> {
    const choice = this.querySelector<HTMLSelectElement>("select[data-devices]");
    if (!choice || !navigator.mediaDevices) return;
    const all = await navigator.mediaDevices.enumerateDevices().catch(() => []);
    for (const d of all) {
      if (d.kind === "audioinput" && d.deviceId && d.label) choice.append(new Option(d.label, d.deviceId));
    }
  }

  /** begin opens the input, checks its settings and starts to send. */
  private async begin(): Promise<void> {
    if (this.running || this.dataset.watch) return;
    this.running = true;
    this.say("Asking for the sound input.");
    try {
      if (!navigator.mediaDevices) throw new Error("this browser gives pages no sound input; open the page as 127.0.0.1 or localhost");
      const device = this.querySelector<HTMLSelectElement>("select[data-devices]")?.value ?? "";
      this.capture = await open(device, this.dataset.worklet ?? "", new URLSearchParams(location.search).get("path") ?? "");
      this.checkSettings(this.capture);
      this.connect(this.capture);
    } catch (e) {
      this.running = false;
      this.capture?.stop();
      this.say(e instanceof Error && e.name === "NotAllowedError" ? "The browser was not allowed to use the sound input. Allow it beside the address, and begin again." : sentence(e), true);
    }
  }

  /** checkSettings refuses an input that alters what it passes on. */
  private checkSettings(capture: Capture): void {
    const f = capture.facts;
    const on = [f.echo ? "echo cancelling" : "", f.noise ? "noise suppression" : "", f.gain ? "automatic gain" : ""].filter((x) => x);
    const anyway = this.querySelector<HTMLInputElement>("input[data-anyway]");
    if (on.length === 0 || anyway?.checked) return;
    if (anyway?.closest("p")) anyway.closest("p")!.hidden = false;
    throw new Error(`${on.join(" and ")} stayed on although it was asked to be off: what would be recorded is not what the set gives. Switch it off in the system's sound settings, or tick the box to record all the same`);
  }

  private connect(capture: Capture): void {
    const socket = new WebSocket(`ws://${location.host}/listen/sound`);
    this.socket = socket;
    socket.binaryType = "arraybuffer";
    socket.onopen = () => socket.send(JSON.stringify({ form: location.search, sound: capture.facts }));
    socket.onmessage = (e: MessageEvent<string>) => this.heard(JSON.parse(e.data) as Answer, capture);
    socket.onclose = () => {
      capture.stop();
      if (!this.ended) this.say("The program does not answer any more. What was recorded until a moment ago is kept: see the list of recordings under way.", true);
      this.running = false;
    };
  }

  /** heard takes what the program answers. */
  private heard(answer: Answer, capture: Capture): void {
    if (answer.refused) {
      this.ended = true;
      capture.stop();
      this.say(answer.refused, true);
    } else if (answer.begun) {
      this.say("");
      this.classList.add("running");
      capture.begin(this.send, (why) => this.tell({ cut: why }));
    } else if (answer.stored) {
      this.ended = true;
      window.location.assign(answer.stored);
    } else if (answer.status) {
      show(this, answer.status);
    }
  }

  private send = (samples: Float32Array, frames: number, stampS: number, stoodS: number): void => {
    const s = this.socket;
    if (!s || s.readyState !== WebSocket.OPEN) return;
    if (s.bufferedAmount > mostWaiting) {
      this.say("This computer does not keep up: sound is waiting to be sent.", true);
    }
    const message = new ArrayBuffer(16 + samples.byteLength);
    const head = new DataView(message);
    head.setFloat64(0, stampS, true);
    head.setUint32(8, frames, true);
    head.setFloat32(12, stoodS, true);
    new Float32Array(message, 16).set(samples);
    s.send(message);
  };

  private tell(what: Record<string, string | boolean>): void {
    if (this.socket?.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify(what));
  }

  private mark(): void {
    if (this.dataset.watch) void this.post("mark");
    else this.tell({ mark: "" });
    this.flash();
  }

  private end(): void {
    if (!this.running || this.ended) return;
    this.ended = true;
    this.say("Storing.");
    if (this.dataset.watch) {
      void this.post("stop");
      return;
    }
    this.capture?.stop();
    this.tell({ stop: true });
  }

  private async post(what: string): Promise<void> {
    const answer = await fetch(`/listen/${this.dataset.watch ?? ""}/${what}`, { method: "POST" }).catch(() => null);
    if (answer?.redirected) window.location.assign(answer.url);
    else if (!answer?.ok) this.say("The program did not do that. See the list of recordings under way.", true);
  }

  /** watch follows a recording that is made elsewhere. */
  private watch(id: string): void {
    this.running = true;
    this.classList.add("running");
    this.events = new EventSource(`/listen/${id}/events`);
    this.events.onmessage = (e: MessageEvent<string>) => {
      const status = JSON.parse(e.data) as LiveStatus;
      show(this, status);
      if (status.over) {
        this.events?.close();
        this.ended = true;
        if (status.stored) window.location.assign(`/runs/${encodeURIComponent(status.run_id)}`);
        else this.say(sentence(status.fault || status.why || "the recording was given up"), true);
      }
    };
  }

  /** flash shows that a mark was set. */
  private flash(): void {
    this.classList.add("marked");
    window.setTimeout(() => this.classList.remove("marked"), 350);
  }

  private say(text: string, wrong = false): void {
    const p = this.querySelector<HTMLElement>("[data-say]");
    if (!p) return;
    p.textContent = text;
    p.classList.toggle("wrong", wrong);
  }
}

interface Answer {
  refused?: string;
  begun?: string;
  stored?: string;
  status?: LiveStatus;
}

function sentence(e: unknown): string {
  const text = e instanceof Error ? e.message : String(e);
  return text.charAt(0).toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? "" : ".");
}
