/**
 * Filters for the eye. They work on a copy of the shown stretch in mV and never touch what is stored. Every filter runs
 * forwards and backwards, so that no wave is shifted in time; corner frequencies are those of both passes together.
 */
export interface DisplayFilters {
  /** High-pass against baseline wander. */
  readonly baseline: boolean;
  /** Notch at the mains frequency; 0 is off. */
  readonly mainsHz: 0 | 50 | 60;
  /** Low-pass against muscle noise. */
  readonly muscle: boolean;
}

/** Second-order section, a0 = 1. */
export interface Biquad {
  readonly b0: number;
  readonly b1: number;
  readonly b2: number;
  readonly a1: number;
  readonly a2: number;
}

/** -3 dB at 0.5 Hz leaves the ST level and T wave readable; common practice. */
export const baselineHz = 0.5;
/** -3 dB at 35 Hz keeps the QRS recognisable; common practice. */
export const muscleHz = 35;
/** Notch width at -3 dB of one pass is mains / 25: 2 Hz at 50 Hz. */
const notchQuality = 25;

/**
 * A second-order Butterworth section run twice is at -6 dB at its own corner; this factor moves the corner so that both
 * passes together are at -3 dB: (sqrt(2) - 1)^(1/4).
 */
const twice = (Math.SQRT2 - 1) ** 0.25;

/** The sections for a sampling rate in Hz. A filter whose frequency the rate cannot carry is left out. */
export function displaySections(filters: DisplayFilters, samplingRateHz: number): readonly Biquad[] {
  const sections: Biquad[] = [];
  if (filters.baseline) sections.push(butterworth('high', baselineHz, samplingRateHz));
  if (filters.mainsHz !== 0 && canFilter(filters.mainsHz, samplingRateHz)) {
    sections.push(notch(filters.mainsHz, notchQuality, samplingRateHz));
  }
  if (filters.muscle && canFilter(muscleHz, samplingRateHz)) {
    sections.push(butterworth('low', muscleHz, samplingRateHz));
  }
  return sections;
}

/** A frequency can be acted on when it lies clearly below half the sampling rate. */
export function canFilter(frequencyHz: number, samplingRateHz: number): boolean {
  return frequencyHz <= 0.48 * samplingRateHz;
}

/** Second-order Butterworth by the bilinear transform (as scipy.signal.butter), -3 dB over both passes at `cornerHz`. */
function butterworth(kind: 'low' | 'high', cornerHz: number, samplingRateHz: number): Biquad {
  const nyquist = Math.tan((Math.PI * cornerHz) / samplingRateHz);
  const k = kind === 'high' ? nyquist * twice : nyquist / twice;
  const norm = 1 / (1 + Math.SQRT2 * k + k * k);
  const b0 = kind === 'high' ? norm : k * k * norm;
  const b1 = kind === 'high' ? -2 * b0 : 2 * b0;
  return { b0, b1, b2: b0, a1: 2 * (k * k - 1) * norm, a2: (1 - Math.SQRT2 * k + k * k) * norm };
}

/** Second-order notch with unit gain elsewhere (as scipy.signal.iirnotch). */
function notch(frequencyHz: number, quality: number, samplingRateHz: number): Biquad {
  const w = (2 * Math.PI * frequencyHz) / samplingRateHz;
  const gain = 1 / (1 + Math.tan(w / quality / 2));
  const b1 = -2 * gain * Math.cos(w);
  return { b0: gain, b1, b2: gain, a1: b1, a2: 2 * gain - 1 };
}

/** Share of the start-up transient that may be left in the shown part. */
const settled = 1e-4;

/**
 * Samples to read beyond each end of the shown part, so that nothing of the filters' start-up is seen: the time in which
 * the slowest pole decays to 1e-4.
 */
export function marginSamples(sections: readonly Biquad[]): number {
  const radii = sections.map(poleRadius);
  return radii.length === 0 ? 0 : Math.ceil(Math.log(settled) / Math.log(Math.max(...radii)));
}

function poleRadius({ a1, a2 }: Biquad): number {
  const discriminant = a1 * a1 - 4 * a2;
  return discriminant < 0 ? Math.sqrt(a2) : (Math.abs(a1) + Math.sqrt(discriminant)) / 2;
}

/**
 * Filters `values` in place, forwards and backwards. Each pass starts as if the first value had stood there for ever.
 * Show only the part that lies `marginSamples` from both ends, save where the recording itself ends.
 */
export function filterZeroPhase(values: Float32Array | Float64Array, sections: readonly Biquad[]): void {
  for (const section of sections) {
    runForwards(values, section);
    values.reverse();
    runForwards(values, section);
    values.reverse();
  }
}

/** Direct form II transposed. */
function runForwards(values: Float32Array | Float64Array, { b0, b1, b2, a1, a2 }: Biquad): void {
  const x0 = values[0] ?? 0;
  const y0 = (x0 * (b0 + b1 + b2)) / (1 + a1 + a2);
  let s2 = b2 * x0 - a2 * y0;
  let s1 = b1 * x0 - a1 * y0 + s2;
  for (let i = 0; i < values.length; i++) {
    const x = values[i]!;
    const y = b0 * x + s1;
    s1 = b1 * x - a1 * y + s2;
    s2 = b2 * x - a2 * y;
    values[i] = y;
  }
}

/** Gain of both passes together at a frequency; 1 is unchanged. */
export function gainAt(sections: readonly Biquad[], frequencyHz: number, samplingRateHz: number): number {
  const w = (2 * Math.PI * frequencyHz) / samplingRateHz;
  return sections.reduce((gain, s) => gain * powerAt(s, w), 1);
}

/** Squared magnitude of one pass, which is the gain of two. */
function powerAt({ b0, b1, b2, a1, a2 }: Biquad, w: number): number {
  const power = (c0: number, c1: number, c2: number) => {
    const re = c0 + c1 * Math.cos(w) + c2 * Math.cos(2 * w);
    const im = c1 * Math.sin(w) + c2 * Math.sin(2 * w);
    return re * re + im * im;
  };
  return power(b0, b1, b2) / power(1, a1, a2);
}
