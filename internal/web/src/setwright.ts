// The live parts of the pages, as custom elements. Every page works without
// them; they only make it quicker.
import { BenchEntry } from "./bench";
import { DropFile } from "./drop";
import { LiveSound } from "./livesound";
import { ChartReadout } from "./readout";
import { SoundStretches } from "./stretches";

customElements.define("bench-entry", BenchEntry);
customElements.define("drop-file", DropFile);
customElements.define("chart-readout", ChartReadout);
customElements.define("sound-stretches", SoundStretches);
customElements.define("live-sound", LiveSound);
