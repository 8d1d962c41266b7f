/**
 * QRS energy of one window of working samples. Two box-car stages make a linear-phase band-pass that needs only
 * additions: a short smoothing, then the second difference of box sums, which has a double zero at 0 Hz and its
 * maximum near 15 Hz. The envelope is the mean of its absolute value over about the width of a QRS.
 * Sources: band-pass and moving-window integration, Pan & Tompkins, IEEE TBME 1985;32:230; band of most QRS energy,
 * Thakor et al., IEEE TBME 1984;31:702; Elgendi, PLoS ONE 2013;8:e73557.
 */
export interface EnvelopeWidths {
  /** Samples smoothed first (about 22 ms). */
  readonly smooth: number;
  /** Samples of each of the three boxes (about 22 ms). */
  readonly box: number;
  /** Samples on either side of the integration window (about 45 ms). */
  readonly half: number;
}

/** What is smoothed first, and each of the three boxes, s. */
export const envelopeS = 0.022;

export function envelopeWidths(workingHz: number): EnvelopeWidths {
  return {
    smooth: Math.max(1, Math.round(envelopeS * workingHz)),
    box: Math.max(2, Math.round(envelopeS * workingHz)),
    half: Math.max(2, Math.round(0.045 * workingHz)),
  };
}

/**
 * Fills `band` and `energy` for `x[0..n)`. Beyond its ends the signal is taken to stay at its end value.
 * `smooth` is scratch of at least `n` entries.
 */
export function fillEnvelope(
  x: Float32Array,
  n: number,
  widths: EnvelopeWidths,
  smooth: Float32Array,
  band: Float32Array,
  energy: Float32Array,
): void {
  if (n === 0) return;
  boxMean(x, n, widths.smooth, smooth);
  secondDifference(smooth, n, widths.box, band);
  meanAbsolute(band, n, widths.half, energy);
}

/** Mean of `width` samples around each; the ends repeat the first and the last full mean. */
function boxMean(x: Float32Array, n: number, width: number, out: Float32Array): void {
  const before = width >> 1;
  const first = Math.min(before, n - 1);
  const last = n - width + before;
  const scale = 1 / width;
  let sum = 0;
  for (let i = 0; i < Math.min(width, n); i++) sum += x[i]!;
  out[first] = sum * scale;
  for (let i = before + 1, k = 0; i <= last; i++, k++) {
    sum += x[k + width]! - x[k]!;
    out[i] = sum * scale;
  }
  out.fill(out[first]!, 0, first);
  if (last >= first) out.fill(out[last]!, last + 1, n);
  else out.fill(out[first]!, first, n);
}

/** Twice the box around each sample minus the boxes before and after it, over twice the box; 0 at the ends. */
function secondDifference(s: Float32Array, n: number, box: number, out: Float32Array): void {
  const before = box >> 1;
  const from = before + box;
  const to = n - (2 * box - before);
  const scale = 0.5 / box;
  out.fill(0, 0, Math.min(from, n));
  let sum = 0;
  if (to >= from) for (let k = 0; k < box; k++) sum += 2 * s[box + k]! - s[k]! - s[2 * box + k]!;
  if (to >= from) out[from] = sum * scale;
  // One sample on, each box loses its first sample and gains the first of the next.
  for (let i = from + 1, a = 0, b = box, c = 2 * box, d = 3 * box; i <= to; i++, a++, b++, c++, d++) {
    sum += s[a]! - s[d]! + 3 * (s[c]! - s[b]!);
    out[i] = sum * scale;
  }
  out.fill(0, Math.max(0, to + 1), n);
}

/** Mean of |y| over `half` samples on either side, 0 beyond the ends. */
function meanAbsolute(y: Float32Array, n: number, half: number, out: Float32Array): void {
  const scale = 1 / (2 * half + 1);
  let sum = 0;
  for (let i = 0; i < Math.min(half, n); i++) sum += Math.abs(y[i]!);
  const inside = Math.min(n, half + 1);
  for (let i = 0; i < inside; i++) {
    if (i + half < n) sum += Math.abs(y[i + half]!);
    out[i] = sum * scale;
  }
  for (let i = inside, a = 0, b = inside + half; b < n; i++, a++, b++) {
    sum += Math.abs(y[b]!) - Math.abs(y[a]!);
    out[i] = sum * scale;
  }
  for (let i = Math.max(inside, n - half); i < n; i++) {
    sum -= Math.abs(y[i - half - 1]!);
    out[i] = sum * scale;
  }
}
