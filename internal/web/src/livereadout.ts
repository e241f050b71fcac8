// What live sound shows: level with its peak held, the frequency of the
// strongest tone, the spectrum, and whether every sample came through.

/** LiveStatus is how a recording under way stands, as the program says it. */
export interface LiveStatus {
  run_id: string;
  elapsed_s: number;
  bytes: number;
  level: { rms_dbfs: number; peak_dbfs: number; hold_dbfs: number; clipped: number };
  tone?: { hz: number; u: number; dbfs: number };
  spectrum: { from_hz: number; to_hz: number; db: number[] | null };
  capture: { gaps?: { Frame: number; Frames: number; LostS: number; Why: string }[] | null; notes?: string[] | null };
  marks?: unknown[] | null;
  fault?: string;
  over: boolean;
  why?: string;
  stored: boolean;
}

/** floorDB is the foot of the level scale. */
const floorDB = -72;

/** db writes a level with a true minus sign. */
function db(x: number, digits = 1): string {
  if (x <= -199) return "–";
  return x.toFixed(digits).replace("-", "−");
}

/** grouped parts digits in threes with narrow spaces that do not break. */
function grouped(text: string): string {
  const [whole = "", part] = text.split(".");
  const parted = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, "\u202f") : whole;
  return part === undefined ? parted : `${parted}.${part}`;
}

/** tone writes a frequency to the digit that its uncertainty leaves. */
function tone(hz: number, u: number): string {
  const digits = u > 0 ? Math.min(4, Math.max(0, Math.ceil(-Math.log10(u)))) : 2;
  return grouped(hz.toFixed(digits));
}

function clock(seconds: number): string {
  const s = Math.floor(seconds);
  const two = (n: number): string => String(n).padStart(2, "0");
  const h = Math.floor(s / 3600);
  return (h > 0 ? `${h}:${two(Math.floor(s / 60) % 60)}` : `${Math.floor(s / 60)}`) + `:${two(s % 60)}`;
}

function text(root: Element, name: string, value: string): void {
  const at = root.querySelector<HTMLElement>(`[data-show=${name}]`);
  if (at && at.textContent !== value) at.textContent = value;
}

/** show writes a status into the page. */
export function show(root: Element, s: LiveStatus): void {
  text(root, "do", "Recording");
  text(root, "tone", s.tone ? tone(s.tone.hz, s.tone.u) : "–");
  text(root, "tone-u", s.tone ? `Hz ± ${s.tone.u.toPrecision(2)}, ${db(s.tone.dbfs)} dBFS` : "Hz: no tone stands out");
  text(root, "level", db(s.level.rms_dbfs));
  text(root, "peak", `peak ${db(s.level.peak_dbfs)}, held ${db(s.level.hold_dbfs)} dBFS`);
  text(root, "elapsed", clock(s.elapsed_s));
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

/** bar draws the level: rms filled, peak and held peak as lines. */
function bar(root: Element, s: LiveStatus): void {
  const at = (x: number): string => String(Math.max(0, Math.min(100, (100 * (x - floorDB)) / -floorDB)));
  root.querySelector("[data-bar=rms]")?.setAttribute("width", at(s.level.rms_dbfs));
  for (const [name, x] of [["peak", s.level.peak_dbfs], ["hold", s.level.hold_dbfs]] as const) {
    root.querySelector(`[data-bar=${name}]`)?.setAttribute("x", at(x));
  }
}

/** curve draws the spectrum between −140 and −20 dB in 1 Hz. */
function curve(root: Element, s: LiveStatus): void {
  const path = root.querySelector("[data-curve]");
  const y = s.spectrum.db ?? [];
  if (!path || y.length === 0) return;
  const points = y.map((v, i) => `${((600 * (i + 0.5)) / y.length).toFixed(1)} ${(160 * Math.max(0, Math.min(1, (-20 - v) / 120))).toFixed(1)}`);
  path.setAttribute("d", "M" + points.join("L"));
  ticks(root, s);
}

/** ticks names frequencies under the spectrum, once. */
function ticks(root: Element, s: LiveStatus): void {
  const row = root.querySelector<HTMLElement>("[data-ticks]");
  if (!row || row.childElementCount > 0) return;
  const { from_hz: lo, to_hz: hi } = s.spectrum;
  for (const hz of [50, 100, 200, 500, 1000, 2000, 5000, 10000]) {
    if (hz < 1.5 * lo || hz > hi / 1.3) continue;
    const span = document.createElement("span");
    span.textContent = hz < 1000 ? `${hz} Hz` : `${hz / 1000} kHz`;
    span.style.left = `${(100 * Math.log(hz / lo)) / Math.log(hi / lo)}%`;
    row.append(span);
  }
}
