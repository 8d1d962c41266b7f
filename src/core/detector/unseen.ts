import type { Span } from '../units';

/** A line without any change for this long is no ECG: lead off, or an amplifier at its rail. */
const flatS = 1;

/**
 * Stretches of the window without a signal, as [start, end) pairs in working samples: the given gaps and flat lines.
 * Words that are not finite take the value before them, so that a run of them is a flat line.
 */
export function unseenStretches(x: Float32Array, n: number, workingHz: number, gaps: readonly Span[]): Int32Array {
  const found: number[] = [];
  for (const g of gaps) found.push(g.start, g.end);
  findFlat(x, n, Math.max(2, Math.round(flatS * workingHz)), found);
  return joined(found);
}

/** Runs of at least `least` equal samples. Every such run holds two neighbours of a lattice half as wide. */
function findFlat(x: Float32Array, n: number, least: number, found: number[]): void {
  const half = least >> 1;
  for (let at = 0; at + half < n; at += half) {
    if (x[at] !== x[at + half]) continue;
    let start = at;
    let end = at + 1;
    while (start > 0 && x[start - 1] === x[at]) start--;
    while (end < n && x[end] === x[at]) end++;
    if (end - start >= least) found.push(start, end);
    while (at + half < end) at += half;
  }
}

/** Replaces words that are not finite by the last finite one before them (0 at the very start). */
export function holdNonFinite(x: Float32Array, start: number, end: number): void {
  for (let i = start; i < end; i++) if (!Number.isFinite(x[i]!)) x[i] = i > 0 ? x[i - 1]! : 0;
}

/** Stretches that are unseen in every lead; each lead's are [start, end) pairs in order. */
export function inAll(leads: readonly Int32Array[]): Int32Array {
  return leads.reduce((a, b) => {
    const out: number[] = [];
    for (let i = 0, k = 0; i < a.length && k < b.length; ) {
      const start = Math.max(a[i]!, b[k]!);
      const end = Math.min(a[i + 1]!, b[k + 1]!);
      if (end > start) out.push(start, end);
      if (a[i + 1]! < b[k + 1]!) i += 2;
      else k += 2;
    }
    return Int32Array.from(out);
  });
}

function joined(pairs: readonly number[]): Int32Array {
  const order = Array.from({ length: pairs.length / 2 }, (_, i) => i * 2).sort((a, b) => pairs[a]! - pairs[b]!);
  const out: number[] = [];
  for (const i of order) {
    if (out.length > 0 && pairs[i]! <= out.at(-1)!) out[out.length - 1] = Math.max(out.at(-1)!, pairs[i + 1]!);
    else out.push(pairs[i]!, pairs[i + 1]!);
  }
  return Int32Array.from(out);
}
