// The worklet of the second path: it gathers blocks on the audio thread and
// passes them on with the moment of their first frame by the computer's clock.
// Not by the number of the frame: where the browser drops samples on the way to
// the worklet that goes on as if nothing had happened, and only the clock tells.
// The length is a multiple of the 128 frames that a worklet is given at a time.

export {};

declare function registerProcessor(name: string, make: unknown): void;
declare class AudioWorkletProcessor {
  readonly port: MessagePort;
}

const length = 512;

// The audio thread works in bursts of a few milliseconds. When it stands still
// for longer than this, what waits for it may overflow and be dropped.
const stillMs = 15;

class PassOn extends AudioWorkletProcessor {
  private block: Float32Array | null = null;
  private filled = 0;
  private first = 0;
  private last = 0; // when this was last called
  private stood = 0; // how long the audio thread stood still before the block, ms
  private channels = 0;

  process(inputs: Float32Array[][]): boolean {
    const input = inputs[0];
    const n = input?.[0]?.length ?? 0;
    if (!input || n === 0) return true; // not connected yet
    const now = Date.now();
    const still = this.last ? now - this.last : 0;
    this.last = now;
    if (still >= stillMs) {
      this.post(); // a block of its own begins where the thread went on
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

  private post(): void {
    if (!this.block || this.filled === 0) return;
    const samples = this.block.slice(0, this.filled * this.channels);
    this.port.postMessage({ samples, frames: this.filled, at: this.first, stood: this.stood }, [samples.buffer]);
    this.block = null;
    this.filled = 0;
    this.stood = 0;
  }
}

registerProcessor("pass-on", PassOn);
