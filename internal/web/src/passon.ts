// The worklet of the second path: it gathers blocks on the audio thread and
// passes them on with the number of their first frame. The length is a multiple
// of the 128 frames that a worklet is given at a time.

export {};

declare const currentFrame: number;
declare function registerProcessor(name: string, make: unknown): void;
declare class AudioWorkletProcessor {
  readonly port: MessagePort;
}

const length = 2048;

class PassOn extends AudioWorkletProcessor {
  private block: Float32Array | null = null;
  private filled = 0;
  private first = 0;
  private channels = 0;

  process(inputs: Float32Array[][]): boolean {
    const input = inputs[0];
    const n = input?.[0]?.length ?? 0;
    if (!input || n === 0) return true; // not connected yet
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
}

registerProcessor("pass-on", PassOn);
