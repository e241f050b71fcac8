// internal/web/src/bench.ts
function clock(seconds) {
  const s = Math.abs(Math.round(seconds));
  const two = (n) => String(n).padStart(2, "0");
  const h = Math.floor(s / 3600);
  const m = Math.floor(s / 60) % 60;
  const text2 = h > 0 ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
  return seconds < -0.5 ? `−${text2}` : text2;
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
  say(text2) {
    let p = this.querySelector(".bench .wrong");
    if (!p) {
      p = document.createElement("p");
      p.className = "wrong";
      p.setAttribute("role", "alert");
      this.querySelector("form.take")?.before(p);
    }
    p.textContent = text2;
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
    const bar2 = this.querySelector("progress");
    const word = this.querySelector(".going [role=status]");
    const request = new XMLHttpRequest();
    this.request = request;
    const over = (text2) => {
      form.hidden = false;
      if (going) going.hidden = text2 === "";
      if (word) word.textContent = text2;
      if (bar2) bar2.hidden = true;
      going?.querySelector(".buttons")?.toggleAttribute("hidden", true);
      this.request = null;
    };
    request.upload.onprogress = (e) => {
      if (!e.lengthComputable || !bar2 || !word) return;
      bar2.value = 100 * e.loaded / e.total;
      word.textContent = `${Math.round(bar2.value)} % sent.`;
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
    if (going && bar2 && word) {
      form.hidden = true;
      going.hidden = false;
      bar2.hidden = false;
      bar2.value = 0;
      word.textContent = "Sending.";
      going.querySelector(".buttons")?.toggleAttribute("hidden", false);
    }
    request.open("POST", form.action);
    request.send(new FormData(form));
  }
};

// internal/web/src/capture.ts
var off = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
async function open(deviceId, workletURL, force) {
  const audio = { ...off, channelCount: { ideal: 2 } };
  if (deviceId) audio.deviceId = { exact: deviceId };
  const stream = await navigator.mediaDevices.getUserMedia({ audio });
  const track = stream.getAudioTracks()[0];
  if (!track) throw new Error("the browser gave no sound input");
  if (window.MediaStreamTrackProcessor && force !== "worklet") return processor(track);
  return worklet(stream, track, workletURL);
}
function flag(value) {
  if (value === void 0 || value === null) return null;
  return value !== false && value !== "none";
}
function factsOf(track, path, rate, channels) {
  const s = track.getSettings();
  return {
    path,
    device: track.label,
    rate_hz: rate,
    channels,
    device_rate_hz: s.sampleRate ?? 0,
    echo: flag(s.echoCancellation),
    noise: flag(s.noiseSuppression),
    gain: flag(s.autoGainControl)
  };
}
async function processor(track) {
  const make = window.MediaStreamTrackProcessor;
  if (!make) throw new Error("no processor");
  const reader = new make({ track }).readable.getReader();
  const first = await reader.read();
  if (first.done) throw new Error("the sound input ended before it began");
  const rate = first.value.sampleRate;
  const channels = first.value.numberOfChannels;
  let stopped = false;
  const pass = (block, take) => {
    const n = block.numberOfFrames;
    const same = block.sampleRate === rate && block.numberOfChannels === channels;
    if (same) {
      const out = new Float32Array(n * channels);
      const plane = new Float32Array(n);
      for (let c = 0; c < channels; c++) {
        block.copyTo(plane, { planeIndex: c, format: "f32-planar" });
        for (let i = 0; i < n; i++) out[i * channels + c] = plane[i] ?? 0;
      }
      take(out, n, block.timestamp / 1e6, 0);
    }
    block.close();
    return same;
  };
  return {
    facts: factsOf(track, "page processor", rate, channels),
    begin(take, ended) {
      const run = async () => {
        let block = first.value;
        while (block && !stopped) {
          if (!pass(block, take)) {
            ended("the sound input changed its form");
            return;
          }
          const next = await reader.read();
          block = next.done ? void 0 : next.value;
        }
        block?.close();
        if (!stopped) ended("the sound input ended: a cable pulled, or the permission taken back");
      };
      run().catch((e) => ended(String(e)));
    },
    stop() {
      stopped = true;
      track.stop();
      void reader.cancel().catch(() => void 0);
    }
  };
}
async function worklet(stream, track, url) {
  const context = new AudioContext({ sampleRate: track.getSettings().sampleRate });
  const sink = context;
  if (sink.setSinkId) await sink.setSinkId({ type: "none" }).catch(() => void 0);
  await context.audioWorklet.addModule(url);
  const channels = Math.min(2, track.getSettings().channelCount ?? 1);
  const node = new AudioWorkletNode(context, "pass-on", { numberOfOutputs: 0, channelCount: channels, channelCountMode: "explicit" });
  return {
    facts: factsOf(track, "page worklet", context.sampleRate, channels),
    begin(take, ended) {
      node.port.onmessage = (e) => take(e.data.samples, e.data.frames, e.data.at / 1e3, e.data.stood / 1e3);
      track.addEventListener("ended", () => ended("the sound input ended: a cable pulled, or the permission taken back"));
      context.createMediaStreamSource(stream).connect(node);
      void context.resume();
    },
    stop() {
      track.stop();
      void context.close();
    }
  };
}

// internal/web/src/livereadout.ts
var floorDB = -72;
function db(x, digits = 1) {
  if (x <= -199) return "–";
  return x.toFixed(digits).replace("-", "−");
}
function grouped(text2) {
  const [whole = "", part] = text2.split(".");
  const parted = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, " ") : whole;
  return part === void 0 ? parted : `${parted}.${part}`;
}
function tone(hz, u) {
  const digits = u > 0 ? Math.min(4, Math.max(0, Math.ceil(-Math.log10(u)))) : 2;
  return grouped(hz.toFixed(digits));
}
function clock2(seconds) {
  const s = Math.floor(seconds);
  const two = (n) => String(n).padStart(2, "0");
  const h = Math.floor(s / 3600);
  return (h > 0 ? `${h}:${two(Math.floor(s / 60) % 60)}` : `${Math.floor(s / 60)}`) + `:${two(s % 60)}`;
}
function text(root, name, value) {
  const at = root.querySelector(`[data-show=${name}]`);
  if (at && at.textContent !== value) at.textContent = value;
}
function show(root, s) {
  text(root, "do", "Recording");
  text(root, "tone", s.tone ? tone(s.tone.hz, s.tone.u) : "–");
  text(root, "tone-u", s.tone ? `Hz ± ${s.tone.u.toPrecision(2)}, ${db(s.tone.dbfs)} dBFS` : "Hz: no tone stands out");
  text(root, "level", db(s.level.rms_dbfs));
  text(root, "peak", `peak ${db(s.level.peak_dbfs)}, held ${db(s.level.hold_dbfs)} dBFS`);
  text(root, "elapsed", clock2(s.elapsed_s));
  const gaps = s.capture.gaps ?? [];
  const last = gaps[gaps.length - 1];
  text(root, "whole", last ? `${gaps.length} ${gaps.length === 1 ? "gap" : "gaps"}, the last: ${last.Why}` : "Every sample so far");
  text(root, "clipped", s.level.clipped > 0 ? `${s.level.clipped} samples at full scale: turn the level down` : "");
  text(root, "marks", s.marks?.length ? ` · ${s.marks.length} ${s.marks.length === 1 ? "mark" : "marks"}` : "");
  if (s.fault) text(root, "say", s.fault);
  root.classList.toggle("gapped", gaps.length > 0);
  root.classList.toggle("over", s.level.clipped > 0);
  bar(root, s);
  curve(root, s);
}
function bar(root, s) {
  const at = (x) => String(Math.max(0, Math.min(100, 100 * (x - floorDB) / -floorDB)));
  root.querySelector("[data-bar=rms]")?.setAttribute("width", at(s.level.rms_dbfs));
  for (const [name, x] of [["peak", s.level.peak_dbfs], ["hold", s.level.hold_dbfs]]) {
    root.querySelector(`[data-bar=${name}]`)?.setAttribute("x", at(x));
  }
}
function curve(root, s) {
  const path = root.querySelector("[data-curve]");
  const y = s.spectrum.db ?? [];
  if (!path || y.length === 0) return;
  const points = y.map((v, i) => `${(600 * (i + 0.5) / y.length).toFixed(1)} ${(160 * Math.max(0, Math.min(1, (-20 - v) / 120))).toFixed(1)}`);
  path.setAttribute("d", "M" + points.join("L"));
  ticks(root, s);
}
function ticks(root, s) {
  const row = root.querySelector("[data-ticks]");
  if (!row || row.childElementCount > 0) return;
  const { from_hz: lo, to_hz: hi } = s.spectrum;
  for (const hz of [50, 100, 200, 500, 1e3, 2e3, 5e3, 1e4]) {
    if (hz < 1.5 * lo || hz > hi / 1.3) continue;
    const span = document.createElement("span");
    span.textContent = hz < 1e3 ? `${hz} Hz` : `${hz / 1e3} kHz`;
    span.style.left = `${100 * Math.log(hz / lo) / Math.log(hi / lo)}%`;
    row.append(span);
  }
}

// internal/web/src/livesound.ts
var pressedTwiceMs = 450;
var heldMs = 900;
var mostWaiting = 8 << 20;
var LiveSound = class extends HTMLElement {
  constructor() {
    super(...arguments);
    this.socket = null;
    this.capture = null;
    this.events = null;
    this.running = false;
    this.lastPress = 0;
    this.downAt = 0;
    this.ended = false;
    this.onLeave = (e) => {
      if (this.running && !this.ended && !this.dataset.watch) e.preventDefault();
    };
    this.onDown = (e) => {
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
    this.onPress = (e) => {
      if (e.key === " " && !this.typing(e)) e.preventDefault();
    };
    this.onUp = (e) => {
      if (e.key !== " ") return;
      if (this.running && this.downAt && performance.now() - this.downAt >= heldMs) this.end();
      this.downAt = 0;
    };
    this.send = (samples, frames, stampS, stoodS) => {
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
  }
  connectedCallback() {
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
  disconnectedCallback() {
    document.removeEventListener("keydown", this.onDown);
    document.removeEventListener("keypress", this.onPress);
    document.removeEventListener("keyup", this.onUp);
    window.removeEventListener("beforeunload", this.onLeave);
    this.events?.close();
    this.capture?.stop();
  }
  button(name) {
    return this.querySelector(`button[data-do=${name}]`);
  }
  /** typing says whether the key belongs to a field. */
  typing(e) {
    const t = e.target;
    return !!t?.closest("input:not([type=checkbox]), textarea, select");
  }
  /** listDevices offers the inputs by name, where the browser tells them. */
  async listDevices() {
    const choice = this.querySelector("select[data-devices]");
    if (!choice || !navigator.mediaDevices) return;
    const all = await navigator.mediaDevices.enumerateDevices().catch(() => []);
    for (const d of all) {
      if (d.kind === "audioinput" && d.deviceId && d.label) choice.append(new Option(d.label, d.deviceId));
    }
  }
  /** begin opens the input, checks its settings and starts to send. */
  async begin() {
    if (this.running || this.dataset.watch) return;
    this.running = true;
    this.say("Asking for the sound input.");
    try {
      if (!navigator.mediaDevices) throw new Error("this browser gives pages no sound input; open the page as 127.0.0.1 or localhost");
      const device = this.querySelector("select[data-devices]")?.value ?? "";
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
  checkSettings(capture) {
    const f = capture.facts;
    const on = [f.echo ? "echo cancelling" : "", f.noise ? "noise suppression" : "", f.gain ? "automatic gain" : ""].filter((x) => x);
    const anyway = this.querySelector("input[data-anyway]");
    if (on.length === 0 || anyway?.checked) return;
    if (anyway?.closest("p")) anyway.closest("p").hidden = false;
    throw new Error(`${on.join(" and ")} stayed on although it was asked to be off: what would be recorded is not what the set gives. Switch it off in the system's sound settings, or tick the box to record all the same`);
  }
  connect(capture) {
    const socket = new WebSocket(`ws://${location.host}/listen/sound`);
    this.socket = socket;
    socket.binaryType = "arraybuffer";
    socket.onopen = () => socket.send(JSON.stringify({ form: location.search, sound: capture.facts }));
    socket.onmessage = (e) => this.heard(JSON.parse(e.data), capture);
    socket.onclose = () => {
      capture.stop();
      if (!this.ended) this.say("The program does not answer any more. What was recorded until a moment ago is kept: see the list of recordings under way.", true);
      this.running = false;
    };
  }
  /** heard takes what the program answers. */
  heard(answer, capture) {
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
  tell(what) {
    if (this.socket?.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify(what));
  }
  mark() {
    if (this.dataset.watch) void this.post("mark");
    else this.tell({ mark: "" });
    this.flash();
  }
  end() {
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
  async post(what) {
    const answer = await fetch(`/listen/${this.dataset.watch ?? ""}/${what}`, { method: "POST" }).catch(() => null);
    if (answer?.redirected) window.location.assign(answer.url);
    else if (!answer?.ok) this.say("The program did not do that. See the list of recordings under way.", true);
  }
  /** watch follows a recording that is made elsewhere. */
  watch(id) {
    this.running = true;
    this.classList.add("running");
    this.events = new EventSource(`/listen/${id}/events`);
    this.events.onmessage = (e) => {
      const status = JSON.parse(e.data);
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
  flash() {
    this.classList.add("marked");
    window.setTimeout(() => this.classList.remove("marked"), 350);
  }
  say(text2, wrong = false) {
    const p = this.querySelector("[data-say]");
    if (!p) return;
    p.textContent = text2;
    p.classList.toggle("wrong", wrong);
  }
};
function sentence(e) {
  const text2 = e instanceof Error ? e.message : String(e);
  return text2.charAt(0).toUpperCase() + text2.slice(1) + (/[.!?]$/.test(text2) ? "" : ".");
}

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

// internal/web/src/stretches.ts
var SoundStretches = class extends HTMLElement {
  constructor() {
    super(...arguments);
    this.end = 0;
  }
  connectedCallback() {
    const player = this.querySelector("audio");
    if (!player) return;
    for (const link of this.querySelectorAll("a[data-from]")) {
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
};

// internal/web/src/setwright.ts
customElements.define("bench-entry", BenchEntry);
customElements.define("drop-file", DropFile);
customElements.define("chart-readout", ChartReadout);
customElements.define("sound-stretches", SoundStretches);
customElements.define("live-sound", LiveSound);
