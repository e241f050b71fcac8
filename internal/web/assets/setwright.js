// internal/web/src/bench.ts
function clock(seconds) {
  const s = Math.abs(Math.round(seconds));
  const two = (n) => String(n).padStart(2, "0");
  const h = Math.floor(s / 3600);
  const m = Math.floor(s / 60) % 60;
  const text = h > 0 ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
  return seconds < -0.5 ? `−${text}` : text;
}
var BenchEntry = class extends HTMLElement {
  constructor() {
    super(...arguments);
    this.timer = 0;
    this.busy = false;
    this.onSubmit = (event) => {
      const form = event.target;
      if (form.action.endsWith("/finish")) return;
      event.preventDefault();
      void this.send(form.action, new FormData(form));
    };
    this.onKey = (event) => {
      const field = this.field();
      if (event.target !== field || !field || field.value !== "") return;
      if (event.key.toLowerCase() !== "x" || event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
      event.preventDefault();
      const form = this.querySelector("form[action$='/strike']");
      if (form) void this.send(form.action, new FormData(form));
    };
  }
  connectedCallback() {
    this.addEventListener("submit", this.onSubmit);
    this.addEventListener("keydown", this.onKey);
    this.timer = window.setInterval(() => this.tick(), 250);
    this.tick();
    this.field()?.focus();
  }
  disconnectedCallback() {
    this.removeEventListener("submit", this.onSubmit);
    this.removeEventListener("keydown", this.onKey);
    window.clearInterval(this.timer);
  }
  field() {
    return this.querySelector("input[name=reading]");
  }
  /** send posts a form and puts what the server then shows in place. */
  async send(action, data) {
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
  say(text) {
    let p = this.querySelector(".bench .wrong");
    if (!p) {
      p = document.createElement("p");
      p.className = "wrong";
      p.setAttribute("role", "alert");
      this.querySelector("form.take")?.before(p);
    }
    p.textContent = text;
  }
  /** tick runs the clocks: time since power-on, and time to the next reading. */
  tick() {
    const now = Date.now();
    const since = this.querySelector("[data-since]");
    if (since?.dataset.since) since.textContent = `${clock((now - Date.parse(since.dataset.since)) / 1e3)} from power-on`;
    const due = this.querySelector("[data-due]");
    if (due?.dataset.due) {
      const left = (Date.parse(due.dataset.due) - now) / 1e3;
      due.textContent = left > 0.5 ? `Next reading in ${clock(left)}` : left > -15 ? "Read now" : `Read now, due ${clock(-left)} ago`;
    }
  }
};

// internal/web/src/drop.ts
var DropFile = class extends HTMLElement {
  constructor() {
    super(...arguments);
    this.request = null;
  }
  connectedCallback() {
    const drop = this.querySelector(".drop");
    const form = this.querySelector("form");
    const input = this.querySelector("input[type=file]");
    const stop = this.querySelector(".going button");
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
  send(form) {
    const going = this.querySelector(".going");
    const bar = this.querySelector("progress");
    const word = this.querySelector(".going [role=status]");
    const request = new XMLHttpRequest();
    this.request = request;
    const over = (text) => {
      form.hidden = false;
      if (going) going.hidden = text === "";
      if (word) word.textContent = text;
      if (bar) bar.hidden = true;
      going?.querySelector(".buttons")?.toggleAttribute("hidden", true);
      this.request = null;
    };
    request.upload.onprogress = (e) => {
      if (!e.lengthComputable || !bar || !word) return;
      bar.value = 100 * e.loaded / e.total;
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
      going.querySelector(".buttons")?.toggleAttribute("hidden", false);
    }
    request.open("POST", form.action);
    request.send(new FormData(form));
  }
};

// internal/web/src/readout.ts
var svgNS = "http://www.w3.org/2000/svg";
var ChartReadout = class extends HTMLElement {
  constructor() {
    super(...arguments);
    this.data = null;
    this.loading = null;
    this.at = -1;
    this.onMove = async (event) => {
      await this.load();
      const shown = this.drawing();
      if (!shown || !this.data) return;
      const [svg, k] = shown;
      const box = svg.getBoundingClientRect();
      const size = this.data.sizes[k];
      if (!size) return;
      const x = (event.clientX - box.left) / box.width * size[0];
      const y = (event.clientY - box.top) / box.height * size[1];
      let best = -1;
      let least = 60 * 60;
      this.data.places.forEach((p, i) => {
        const dx = (p[2 * k] ?? NaN) - x;
        const dy = (p[2 * k + 1] ?? NaN) - y;
        const far = dx * dx + 0.15 * dy * dy;
        if (far < least) {
          least = far;
          best = i;
        }
      });
      this.show(best);
    };
    this.onKey = async (event) => {
      const steps = { ArrowRight: 1, ArrowLeft: -1, PageDown: 10, PageUp: -10, Home: -1e9, End: 1e9 };
      const step = steps[event.key];
      if (step === void 0 || event.target !== this) return;
      event.preventDefault();
      await this.load();
      const n = this.data?.places.length ?? 0;
      if (n > 0) this.show(Math.max(0, Math.min(n - 1, this.at + step)));
    };
  }
  connectedCallback() {
    this.tabIndex = 0;
    this.setAttribute("role", "group");
    this.setAttribute("aria-label", "Chart; the arrow keys step through its readings");
    const out = document.createElement("output");
    out.className = "readout";
    out.textContent = " ";
    this.append(out);
    this.addEventListener("pointermove", this.onMove);
    this.addEventListener("pointerleave", () => this.show(-1));
    this.addEventListener("keydown", this.onKey);
    this.addEventListener("blur", () => this.show(-1));
  }
  /** load fetches the places when they are first needed. */
  load() {
    this.loading ?? (this.loading = fetch(this.getAttribute("src") ?? "").then((answer) => answer.ok ? answer.json() : null).then((data) => {
      this.data = data;
    }).catch(() => void 0));
    return this.loading;
  }
  /** drawing is the drawing that is shown, and which of the sizes it is. */
  drawing() {
    const all = Array.from(this.querySelectorAll("svg.chart"));
    const k = all.findIndex((svg2) => svg2.getBoundingClientRect().width > 0);
    const svg = all[k];
    return svg ? [svg, k] : null;
  }
  /** show marks a reading and says it; -1 marks none. */
  show(i) {
    this.at = i;
    this.querySelectorAll(".cross").forEach((e) => e.remove());
    const out = this.querySelector("output");
    if (out) out.textContent = " ";
    const shown = this.drawing();
    const place = this.data?.places[i];
    if (!shown || !place || !this.data) return;
    const [svg, k] = shown;
    const x = String(place[2 * k]);
    const y = String(place[2 * k + 1]);
    const g = document.createElementNS(svgNS, "g");
    g.setAttribute("class", "cross");
    const line = document.createElementNS(svgNS, "line");
    line.setAttribute("x1", x);
    line.setAttribute("x2", x);
    line.setAttribute("y1", "20");
    line.setAttribute("y2", String((this.data.sizes[k]?.[1] ?? 0) - 50));
    const ring = document.createElementNS(svgNS, "circle");
    ring.setAttribute("cx", x);
    ring.setAttribute("cy", y);
    ring.setAttribute("r", "6");
    g.append(line, ring);
    svg.append(g);
    if (out) out.textContent = `${i + 1} of ${this.data.places.length}: ${this.data.texts[i] ?? ""}`;
  }
};

// internal/web/src/setwright.ts
customElements.define("bench-entry", BenchEntry);
customElements.define("drop-file", DropFile);
customElements.define("chart-readout", ChartReadout);
