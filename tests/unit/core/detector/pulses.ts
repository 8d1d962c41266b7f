/** A plain ECG of our own for tests: a narrow R wave, a P wave before and a T wave after each beat, on a flat line. */
export interface PulseOptions {
  readonly samplingRateHz: number;
  readonly rrS: number;
  readonly seconds: number;
  readonly amplitude?: number;
  readonly offset?: number;
}

export interface PulseTrain {
  readonly words: Int16Array;
  readonly beats: Int32Array;
}

const bump = (t: number, width: number) => Math.exp(-0.5 * (t / width) ** 2);

/** Value of one beat `t` seconds after its R apex, in parts of the R wave. */
function pulse(t: number): number {
  return bump(t, 0.012) - 0.2 * bump(t - 0.03, 0.012) + 0.12 * bump(t + 0.17, 0.025) + 0.25 * bump(t - 0.28, 0.05);
}

export function beatTrain(times: readonly number[], o: Omit<PulseOptions, 'rrS'>): PulseTrain {
  const hz = o.samplingRateHz;
  const amplitude = o.amplitude ?? 200;
  const words = new Int16Array(Math.round(o.seconds * hz)).fill(o.offset ?? 0);
  const beats = Int32Array.from(times, t => Math.round(t * hz));
  for (const at of beats)
    for (let i = Math.max(0, at - hz); i < Math.min(words.length, at + hz); i++)
      words[i]! += Math.round(amplitude * pulse((i - at) / hz));
  return { words, beats };
}

/** Regular beats from half an interval on. A small ripple of one unit keeps the line from being flat. */
export function regularBeats(o: PulseOptions): PulseTrain {
  const times: number[] = [];
  for (let t = o.rrS / 2; t < o.seconds - 0.3; t += o.rrS) times.push(t);
  const train = beatTrain(times, o);
  for (let i = 0; i < train.words.length; i++) train.words[i]! += i % 3 === 0 ? 1 : 0;
  return train;
}
