/** Where the rows of a lead lie, one a beat. */
export interface BeatRows {
  readonly count: number;
  /** Steps of a row; the mark is at `middle`. */
  readonly width: number;
  readonly middle: number;
  readonly stepsPerSecond: number;
  /** 1 where the whole row lies in the recording. */
  readonly whole: Uint8Array;
}

const qrsHalfS = 0.1;
/** A lead says something of the beats where most are this much like one of the few before: 0.84 and more on open records, 0.2 in noise. */
const beatsAlike = 0.5;
const before = 3;

/** Whether beats can be seen in a lead. */
export function showsBeats(values: Float32Array, rows: BeatRows): boolean {
  const most = Float32Array.from({ length: Math.max(0, rows.count - before) }, (_, i) => {
    let alike = 0;
    for (let d = 1; d <= before; d++) alike = Math.max(alike, similarity(values, rows, i + before, i + before - d));
    return alike;
  });
  return upperMedian(most) > beatsAlike;
}

/**
 * What a lead in mV is multiplied with before leads are compared together: with the square root of its usual QRS complex
 * in the denominator a larger lead counts for more, yet no lead for everything.
 */
export function leadWeight(values: Float32Array, rows: BeatRows): number {
  const sizes = Float32Array.from({ length: rows.count }, (_, k) => Math.sqrt(power(values, rows, k)));
  const usual = upperMedian(sizes.filter((_, k) => rows.whole[k] === 1));
  return usual > 0 ? 1 / Math.sqrt(usual) : 1;
}

/** Of an even number the upper of the middle two. Sorts its input. */
function upperMedian(values: Float32Array): number {
  return values.sort()[values.length >> 1] ?? 0;
}

function power(values: Float32Array, rows: BeatRows, k: number): number {
  return product(values, rows, k, k);
}

function similarity(values: Float32Array, rows: BeatRows, a: number, b: number): number {
  const both = power(values, rows, a) + power(values, rows, b);
  return both > 0 ? (2 * product(values, rows, a, b)) / both : 0;
}

function product(values: Float32Array, { width, middle, stepsPerSecond }: BeatRows, a: number, b: number): number {
  const half = Math.round(qrsHalfS * stepsPerSecond);
  let sum = 0;
  for (let j = middle - half; j <= middle + half; j++) sum += values[a * width + j]! * values[b * width + j]!;
  return sum;
}
