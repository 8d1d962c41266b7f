import type { SampleIndex, Span } from '../units';
import { type Lead, type SampleArray, samplesLike } from './recording';

/**
 * The recorded pieces of a lead on its time line, in order. Only their words are kept, one piece behind the other, so that
 * what was not recorded takes no room.
 */
export interface Pieces {
  /** Length of the time line. */
  readonly sampleCount: number;
  /** First sample of each piece, and the one after its last. */
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  /** Words kept before each piece; one value more than pieces, the last being all of them. */
  readonly before: Float64Array;
}

type TimeLine = Pick<Lead, 'sampleCount' | 'unrecorded'>;

export function piecesOf({ sampleCount, unrecorded = [] }: TimeLine): Pieces {
  const starts: number[] = [];
  const ends: number[] = [];
  const add = (start: number, end: number) => {
    if (end <= start) return;
    starts.push(start);
    ends.push(end);
  };
  let from = 0;
  for (const { start, end } of unrecorded) {
    add(from, Math.min(start, sampleCount));
    from = end;
  }
  add(from, sampleCount);
  const before = new Float64Array(starts.length + 1);
  for (const [i, start] of starts.entries()) before[i + 1] = before[i]! + ends[i]! - start;
  return { sampleCount, starts: Float64Array.from(starts), ends: Float64Array.from(ends), before };
}

/** How many words are kept of a lead. */
export function wordCount({ sampleCount, unrecorded = [] }: TimeLine): number {
  return unrecorded.reduce((n, s) => n - (s.end - s.start), sampleCount);
}

/** Number of the first piece that ends after a sample; the number of pieces when none does. */
export function firstPieceAfter({ ends }: Pieces, sample: number): number {
  let low = 0;
  let high = ends.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (ends[middle]! > sample) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** How many words are kept of what lies before a sample. */
export function wordsBefore(pieces: Pieces, sample: number): number {
  const k = firstPieceAfter(pieces, sample);
  return pieces.before[k]! + Math.max(0, sample - (pieces.starts[k] ?? sample));
}

/** A stretch of the time line that was recorded throughout, or not at all. */
export interface Stretch extends Span {
  readonly recorded: boolean;
}

/** `[start, end)` cut where recording began or stopped; recorded stretches are at most `longest` samples. */
export function* stretches(pieces: Pieces, start: number, end: number, longest: number): Generator<Stretch> {
  const stretch = (from: number, to: number, recorded: boolean): Stretch => {
    return { start: from as SampleIndex, end: to as SampleIndex, recorded };
  };
  const { starts, ends } = pieces;
  const last = Math.min(end, pieces.sampleCount);
  let at = Math.max(0, start);
  for (let k = firstPieceAfter(pieces, at); k < ends.length && starts[k]! < last; k++) {
    if (starts[k]! > at) yield stretch(at, starts[k]!, false);
    at = Math.max(at, starts[k]!);
    for (const to = Math.min(last, ends[k]!); at < to; at = Math.min(to, at + longest)) {
      yield stretch(at, Math.min(to, at + longest), true);
    }
  }
  if (at < last) yield stretch(at, last, false);
}

/** Adds a stretch to a list that grows from its end; one that touches the last makes it longer. */
export function addStretch(list: Span[], start: number, end: number): void {
  if (end <= start) return;
  const last = list.at(-1);
  const from = last && last.end === start ? list.pop()!.start : start;
  list.push({ start: from as SampleIndex, end: end as SampleIndex });
}

/** The word nearest to 0 mV, which stands for what was not recorded where words are needed in one row. */
export function zeroWord({ format, offset }: Pick<Lead, 'format' | 'offset'>): number {
  if (format === 'float32') return offset;
  const largest = format === 'int16' ? 2 ** 15 : 2 ** 31;
  return Math.max(-largest, Math.min(largest - 1, Math.round(offset))) + 0;
}

type Words = SampleArray | Promise<SampleArray>;

/**
 * Words of samples `[start, end)` in one row, with `fill` where nothing was recorded. `read` gives kept words by their
 * number; the answer is its own when the stretch lies in one piece.
 */
export function readAcross(
  pieces: Pieces,
  start: number,
  end: number,
  fill: number,
  read: (first: number, end: number) => Words,
): Words {
  const from = Math.max(0, start);
  const to = Math.max(from, Math.min(end, pieces.sampleCount));
  const words = read(wordsBefore(pieces, from), wordsBefore(pieces, to));
  const laidOut = (kept: SampleArray) => (kept.length === to - from ? kept : layOut(pieces, from, to, fill, kept));
  return words instanceof Promise ? words.then(laidOut) : laidOut(words);
}

function layOut(pieces: Pieces, from: number, to: number, fill: number, kept: SampleArray): SampleArray {
  const out = samplesLike(kept, to - from).fill(fill);
  let taken = 0;
  for (let k = firstPieceAfter(pieces, from); k < pieces.ends.length && pieces.starts[k]! < to; k++) {
    const at = Math.max(from, pieces.starts[k]!);
    const length = Math.min(to, pieces.ends[k]!) - at;
    out.set(kept.subarray(taken, taken + length), at - from);
    taken += length;
  }
  return out;
}
