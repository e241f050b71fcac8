// internal/web/src/passon.ts
var length = 512;
var stillMs = 15;
var PassOn = class extends AudioWorkletProcessor {
  constructor() {
    super(...arguments);
    this.block = null;
    this.filled = 0;
    this.first = 0;
    this.last = 0;
    // when this was last called
    this.stood = 0;
    // how long the audio thread stood still before the block, ms
    this.channels = 0;
  }
  process(inputs) {
    const input = inputs[0];
    const n = input?.[0]?.length ?? 0;
    if (!input || n === 0) return true;
    const now = Date.now();
    const still = this.last ? now - this.last : 0;
    this.last = now;
    if (still >= stillMs) {
      this.post();
      this.stood = still;
    }
    if (!this.block || this.channels !== input.length) {
      this.channels = input.length;
      this.block = new Float32Array(length * this.channels);
      this.filled = 0;
    }
    if (this.filled === 0) this.first = now;
    for (let c = 0; c < this.channels; c++) {
      const plane = input[c];
      for (let i = 0; plane && i < n; i++) this.block[(this.filled + i) * this.channels + c] = plane[i] ?? 0;
    }
    this.filled += n;
    if (this.filled >= length) this.post();
    return true;
  }
  post() {
    if (!this.block || this.filled === 0) return;
    const samples = this.block.slice(0, this.filled * this.channels);
    this.port.postMessage({ samples, frames: this.filled, at: this.first, stood: this.stood }, [samples.buffer]);
    this.block = null;
    this.filled = 0;
    this.stood = 0;
  }
};
registerProcessor("pass-on", PassOn);
