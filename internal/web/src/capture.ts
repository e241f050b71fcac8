// Sound of this computer's input, as it comes, to the program. Where the
// browser hands out its own blocks they are taken as they are, with their time
// stamps; elsewhere a worklet passes them on. Either way every sample goes, and
// what the browser says of its settings goes with it.

/** SoundFacts are what a path says of itself before the first block. */
export interface SoundFacts {
  path: string;
  device: string;
  rate_hz: number;
  channels: number;
  device_rate_hz: number;
  echo: boolean | null;
  noise: boolean | null;
  gain: boolean | null;
}

/** Taker is given each block: frames interleaved, and the path's clock at the
 * first frame in seconds from any beginning, and how long the path stood still
 * before it. */
export type Taker = (samples: Float32Array, frames: number, stampS: number, stoodS: number) => void;

interface AudioBlock {
  numberOfFrames: number;
  numberOfChannels: number;
  sampleRate: number;
  timestamp: number;
  copyTo(to: Float32Array, options: { planeIndex: number; format: "f32-planar" }): void;
  close(): void;
}

interface TrackProcessor {
  readable: ReadableStream<AudioBlock>;
}

declare global {
  interface Window {
    MediaStreamTrackProcessor?: new (init: { track: MediaStreamTrack }) => TrackProcessor;
  }
}

/** Capture is an open sound input. */
export interface Capture {
  facts: SoundFacts;
  /** begin passes blocks on until stop is called or the input ends. */
  begin(take: Taker, ended: (why: string) => void): void;
  stop(): void;
}

/** settings that would alter what is measured. */
const off = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

/** open asks for the input and finds the best path. workletURL is the module of
 * the other path; force names one path, for trying it out. */
export async function open(deviceId: string, workletURL: string, force: string): Promise<Capture> {
  const audio: MediaTrackConstraints = { ...off, channelCount: { ideal: 2 } };
  if (deviceId) audio.deviceId = { exact: deviceId };
  const stream = await navigator.mediaDevices.getUserMedia({ audio });
  const track = stream.getAudioTracks()[0];
  if (!track) throw new Error("the browser gave no sound input");
  if (window.MediaStreamTrackProcessor && force !== "worklet") return processor(track);
  return worklet(stream, track, workletURL);
}

/** flag is a setting as the browser reports it, null where it does not. */
function flag(value: unknown): boolean | null {
  if (value === undefined || value === null) return null;
  return value !== false && value !== "none";
}

function factsOf(track: MediaStreamTrack, path: string, rate: number, channels: number): SoundFacts {
  const s = track.getSettings();
  return {
    path, device: track.label, rate_hz: rate, channels, device_rate_hz: s.sampleRate ?? 0,
    echo: flag(s.echoCancellation), noise: flag(s.noiseSuppression), gain: flag(s.autoGainControl),
  };
}

/** processor reads the browser's own blocks. The first is read to learn their
 * form, and passed on like the others. */
async function processor(track: MediaStreamTrack): Promise<Capture> {
  const make = window.MediaStreamTrackProcessor;
  if (!make) throw new Error("no processor");
  const reader = new make({ track }).readable.getReader();
  const first = await reader.read();
  if (first.done) throw new Error("the sound input ended before it began");
  const rate = first.value.sampleRate;
  const channels = first.value.numberOfChannels;
  let stopped = false;
  const pass = (block: AudioBlock, take: Taker): boolean => {
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
      const run = async (): Promise<void> => {
        let block: AudioBlock | undefined = first.value;
        while (block && !stopped) {
          if (!pass(block, take)) {
            ended("the sound input changed its form");
            return;
          }
          const next = await reader.read();
          block = next.done ? undefined : next.value;
        }
        block?.close();
        if (!stopped) ended("the sound input ended: a cable pulled, or the permission taken back");
      };
      run().catch((e: unknown) => ended(String(e)));
    },
    stop() {
      stopped = true;
      track.stop();
      void reader.cancel().catch(() => undefined);
    },
  };
}

/** worklet passes blocks on from the audio thread. The context plays nowhere,
 * where the browser knows how: that keeps its clock from being an output's. */
async function worklet(stream: MediaStream, track: MediaStreamTrack, url: string): Promise<Capture> {
  const context = new AudioContext({ sampleRate: track.getSettings().sampleRate });
  const sink = context as AudioContext & { setSinkId?: (id: { type: "none" }) => Promise<void> };
  if (sink.setSinkId) await sink.setSinkId({ type: "none" }).catch(() => undefined);
  await context.audioWorklet.addModule(url);
  const channels = Math.min(2, track.getSettings().channelCount ?? 1);
  const node = new AudioWorkletNode(context, "pass-on", { numberOfOutputs: 0, channelCount: channels, channelCountMode: "explicit" });
  return {
    facts: factsOf(track, "page worklet", context.sampleRate, channels),
    begin(take, ended) {
      node.port.onmessage = (e: MessageEvent<{ samples: Float32Array; frames: number; at: number; stood: number }>) =>
        take(e.data.samples, e.data.frames, e.data.at / 1000, e.data.stood / 1000);
      track.addEventListener("ended", () => ended("the sound input ended: a cable pulled, or the permission taken back"));
      context.createMediaStreamSource(stream).connect(node);
      void context.resume();
    },
    stop() {
      track.stop();
      void context.close();
    },
  };
}
