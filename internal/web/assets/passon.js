// internal/web/src/passon.ts
var length = 2048;
var PassOn = class extends AudioWorkletProcessor {
  constructor() {
    super(...arguments);
    this.block = null;
    this.filled = 0;
    this.first = 0;
    this.channels = 0;
  }
  process(inputs) {
    const input = inputs[0];
    const n = input?.[0]?.length ?? 0;
    if (!input || n === 0) return true;
    if (!this.block || this.channels !== input.length) {
      this.channels = input.length;
      this.block = new Float32Array(length * this.channels);
      this.filled = 0;
    }
    if (this.filled === 0) this.first = currentFrame;
    for (let c = 0; c < this.channels; c++) {
      const plane = input[c];
      for (let i = 0; plane && i < n; i++) this.block[(this.filled + i) * this.channels + c] = plane[i] ?? 0;
    }
    this.filled += n;
    if (this.filled >= length) {
      this.port.postMessage({ samples: this.block, frames: this.filled, frame: this.first }, [this.block.buffer]);
      this.block = null;
    }
    return true;
  }
};
registerProcessor("pass-on", PassOn);
