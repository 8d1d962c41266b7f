/**
 * R peaks by a plain band-pass (5 to 15 Hz by two moving averages), squared and smoothed over 120 ms: peaks above 0.15
 * of the highest within 4 s, each put on the largest swing of the band within 60 ms. A detector that makes real mistakes.
 */
export function plainMarks(words: ArrayLike<number>, hz: number): Int32Array {
  const { band, energy } = plainEnergy(words, hz);
  const marks: number[] = [];
  for (const p of highPeaks(energy, hz)) {
    const reach = Math.round(0.06 * hz);
    let best = p;
    for (let i = Math.max(0, p - reach); i <= Math.min(band.length - 1, p + reach); i++) {
      if (Math.abs(band[i]!) > Math.abs(band[best]!)) best = i;
    }
    if (best > (marks.at(-1) ?? -1)) marks.push(best);
  }
  return Int32Array.from(marks);
}

/** The same at the peaks of the energy, for matching within 150 ms. */
export function plainDetector(words: ArrayLike<number>, hz: number): Int32Array {
  return Int32Array.from(highPeaks(plainEnergy(words, hz).energy, hz));
}

function plainEnergy(words: ArrayLike<number>, hz: number) {
  const fast = movingAverage(Float64Array.from(words), Math.round(0.03 * hz));
  const slow = movingAverage(fast, Math.round(0.12 * hz));
  const band = fast.map((v, i) => v - slow[i]!);
  const energy = movingAverage(
    band.map(v => v ** 2),
    Math.round(0.12 * hz),
  );
  return { band, energy };
}

function highPeaks(energy: Float64Array, hz: number): number[] {
  const apart = Math.round(0.25 * hz);
  const peaks: number[] = [];
  for (let i = 1; i + 1 < energy.length; i++) {
    if (energy[i]! <= energy[i - 1]! || energy[i]! < energy[i + 1]!) continue;
    const last = peaks.at(-1);
    if (last === undefined || i - last >= apart) peaks.push(i);
    else if (energy[i]! > energy[last]!) peaks[peaks.length - 1] = i;
  }
  const reach = 4 * hz;
  const kept: number[] = [];
  for (let k = 0, lo = 0; k < peaks.length; k++) {
    while (peaks[lo]! < peaks[k]! - reach) lo++;
    let top = 0;
    for (let j = lo; j < peaks.length && peaks[j]! <= peaks[k]! + reach; j++) top = Math.max(top, energy[peaks[j]!]!);
    if (energy[peaks[k]!]! > 0.15 * top) kept.push(peaks[k]!);
  }
  return kept;
}

function movingAverage(x: Float64Array, width: number): Float64Array {
  const out = new Float64Array(x.length);
  const half = width >> 1;
  let sum = x[0]! * (2 * half + 1);
  for (let i = 0; i < x.length + half; i++) {
    sum += (x[i] ?? x.at(-1)!) - (x[i - 2 * half - 1] ?? x[0]!);
    if (i >= half) out[i - half] = sum / (2 * half + 1);
  }
  return out;
}
