import { type Computed, notComputable } from '../score/result';
import { lombScargle } from './lomb-scargle';
import { type NnSeries, readableSeconds } from './nn';
import { tachogram } from './tachogram';
import { type PowerSpectrum, welch } from './welch';

/** Bands of the Task Force (Circulation 1996;93:1043), in Hz: above the first, up to and with the second. */
export const bandsHz = { vlf: [0, 0.04], lf: [0.04, 0.15], hf: [0.15, 0.4] } as const;

/**
 * Least readable time of each band, in s. LF: about 2 min, HF: about 1 min (Task Force 1996, short-term recordings).
 * VLF: 4 min (own choice: the paper calls it dubious below 5 min, and a five-minute segment loses some).
 */
export const leastSeconds = { vlf: 240, lf: 120, hf: 60 } as const;

/** Most of the time the spline may run through without data (own choice). */
const mostBridged = 0.2;

export interface BandPowers {
  readonly vlfMs2: Computed;
  readonly lfMs2: Computed;
  readonly hfMs2: Computed;
  /** LF and HF in normalized units: percent of LF + HF. */
  readonly lfNu: Computed;
  readonly hfNu: Computed;
  readonly lfHf: Computed;
}

export interface SpectrumResult {
  readonly method: string;
  /** For drawing; null when there is none. Density in ms^2 / Hz. */
  readonly spectrum: PowerSpectrum | null;
  readonly bands: BandPowers;
  /** Breaks in the series that were interpolated, and their length; 0 for Lomb-Scargle, which needs none. */
  readonly bridgedBreaks: number;
  readonly bridgedSeconds: number;
}

const welchMethod =
  'Welch on a 4 Hz tachogram (natural cubic spline), pieces of 128 s, periodic Hann window, half overlap, mean removed';
const lombMethod = 'Lomb-Scargle on the uneven series, mean removed, five-minute pieces averaged from ten minutes on';

export function welchSpectrum(series: NnSeries): SpectrumResult {
  const none = (reason: string, bridgedBreaks = 0, bridgedSeconds = 0): SpectrumResult => ({
    method: welchMethod,
    spectrum: null,
    bands: allBands(notComputable(reason)),
    bridgedBreaks,
    bridgedSeconds,
  });
  const readable = readableSeconds(series);
  if (readable < leastSeconds.hf || series.intervalsMs.length < 3)
    return none(tooShort('HF', readable, leastSeconds.hf));
  const { valuesMs, rateHz, bridgedBreaks, bridgedSeconds } = tachogram(series);
  if (bridgedSeconds > mostBridged * (bridgedSeconds + readable)) {
    const share = Math.round((100 * bridgedSeconds) / (bridgedSeconds + readable));
    return none(`${share} % of the time would be interpolated, more than 20 %`, bridgedBreaks, bridgedSeconds);
  }
  const spectrum = welch(valuesMs, rateHz);
  const bands = bandPowers(spectrum, readable, series.intervalsMs.length);
  return { method: welchMethod, spectrum, bands, bridgedBreaks, bridgedSeconds };
}

export function lombSpectrum(series: NnSeries): SpectrumResult {
  const readable = readableSeconds(series);
  const head = { method: lombMethod, bridgedBreaks: 0, bridgedSeconds: 0 };
  if (readable < leastSeconds.hf || series.intervalsMs.length < 3) {
    return { ...head, spectrum: null, bands: allBands(notComputable(tooShort('HF', readable, leastSeconds.hf))) };
  }
  const spectrum = lombScargle(series.timesSeconds, series.intervalsMs);
  return { ...head, spectrum, bands: bandPowers(spectrum, readable, series.intervalsMs.length) };
}

/** Band powers by the rectangle rule; n = NN intervals behind them. */
function bandPowers({ frequenciesHz, density }: PowerSpectrum, readable: number, n: number): BandPowers {
  const step = frequenciesHz.length > 1 ? frequenciesHz[1]! - frequenciesHz[0]! : 0;
  const power = (name: keyof typeof bandsHz): Computed => {
    if (readable < leastSeconds[name]) return notComputable(tooShort(name.toUpperCase(), readable, leastSeconds[name]));
    const [low, high] = bandsHz[name];
    let sum = 0;
    for (let k = 0; k < density.length; k++) {
      if (frequenciesHz[k]! > low + 1e-12 && frequenciesHz[k]! <= high + 1e-12) sum += density[k]!;
    }
    return { value: sum * step, n };
  };
  const lf = power('lf');
  const hf = power('hf');
  return { vlfMs2: power('vlf'), lfMs2: lf, hfMs2: hf, ...ratios(lf, hf, n) };
}

function ratios(lf: Computed, hf: Computed, n: number): Pick<BandPowers, 'lfNu' | 'hfNu' | 'lfHf'> {
  const all = (result: Computed) => ({ lfNu: result, hfNu: result, lfHf: result });
  if (lf.value === null) return all(lf);
  if (hf.value === null) return all(hf);
  const sum = lf.value + hf.value;
  // Rounding leaves some 1e-20 ms^2 where there is no variation at all.
  if (sum < 1e-9) return all(notComputable('no power in LF and HF'));
  return {
    lfNu: { value: (100 * lf.value) / sum, n },
    hfNu: { value: (100 * hf.value) / sum, n },
    lfHf: hf.value > 1e-9 ? { value: lf.value / hf.value, n } : notComputable('no power in HF'),
  };
}

function tooShort(band: string, readable: number, least: number): string {
  return `${band} needs ${least} s of readable time, has ${Math.floor(readable)} s`;
}

function allBands(result: Computed): BandPowers {
  return { vlfMs2: result, lfMs2: result, hfMs2: result, lfNu: result, hfNu: result, lfHf: result };
}
