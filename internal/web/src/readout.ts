// A readout for a chart: the pointer or the arrow keys go from reading to
// reading, and what each says stands under the chart. The places come from the
// server, which drew the chart.

interface Places {
  sizes: [number, number][];
  places: number[][];
  texts: string[];
}

const svgNS = "http://www.w3.org/2000/svg";

export class ChartReadout extends HTMLElement {
  private data: Places | null = null;
  private loading: Promise<void> | null = null;
  private at = -1;

  connectedCallback(): void {
    this.tabIndex = 0;
    this.setAttribute("role", "group");
    this.setAttribute("aria-label", "Chart; the arrow keys step through its readings");
    const out = document.createElement("output");
    out.className = "readout";
    out.textContent = "\u00a0";
    this.append(out);
    this.addEventListener("pointermove", this.onMove);
    this.addEventListener("pointerleave", () => this.show(-1));
    this.addEventListener("keydown", this.onKey);
    this.addEventListener("blur", () => this.show(-1));
  }

  /** load fetches the places when they are first needed. */
  private load(): Promise<void> {
    this.loading ??= fetch(this.getAttribute("src") ?? "")
      .then((answer) => (answer.ok ? (answer.json() as Promise<Places>) : null))
      .then((data) => {
        this.data = data;
      })
      .catch(() => undefined);
    return this.loading;
  }

  /** drawing is the drawing that is shown, and which of the sizes it is. */
  private drawing(): [SVGSVGElement, number] | null {
    const all = Array.from(this.querySelectorAll<SVGSVGElement>("svg.chart"));
    const k = all.findIndex((svg) => svg.getBoundingClientRect().width > 0);
    const svg = all[k];
    return svg ? [svg, k] : null;
  }

  private onMove = async (event: PointerEvent): Promise<void> => {
    await this.load();
    const shown = this.drawing();
    if (!shown || !this.data) return;
    const [svg, k] = shown;
    const box = svg.getBoundingClientRect();
    const size = this.data.sizes[k];
    if (!size) return;
    const x = ((event.clientX - box.left) / box.width) * size[0];
    const y = ((event.clientY - box.top) / box.height) * size[1];
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

  private onKey = async (event: KeyboardEvent): Promise<void> => {
    const steps: Record<string, number> = { ArrowRight: 1, ArrowLeft: -1, PageDown: 10, PageUp: -10, Home: -1e9, End: 1e9 };
    const step = steps[event.key];
    if (step === undefined || event.target !== this) return;
    event.preventDefault();
    await this.load();
    const n = this.data?.places.length ?? 0;
    if (n > 0) this.show(Math.max(0, Math.min(n - 1, this.at + step)));
  };

  /** show marks a reading and says it; -1 marks none. */
  private show(i: number): void {
    this.at = i;
    this.querySelectorAll(".cross").forEach((e) => e.remove());
    const out = this.querySelector("output");
    if (out) out.textContent = "\u00a0";
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
}
