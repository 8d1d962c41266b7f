import { type Computed, notComputable } from '../score/result';
import { breakBefore, breaksOf, isWideBreak, stretchesOf } from './breaks';
import { lombScargle, type SecondsSpan } from './lomb-scargle';
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

/** Most of the time that may be missing between the first beat and the last (own choice). */
const mostMissing = 0.2;

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

export const lombMethod =
  'Lomb-Scargle on the uneven series, mean removed, scaled by the time covered, at most 20 % of the time missing, five-minute pieces averaged from ten minutes on';
export const welchMethod =
  'Welch on a 4 Hz tachogram (shape-preserving cubic, Fritsch & Carlson 1980), pieces of 128 s, periodic Hann window, half overlap, mean removed; no break of more than 2 beats or 3 s is bridged, stretches between breaks are averaged by their length';

type Band = keyof typeof bandsHz;
const bandNames: readonly Band[] = ['vlf', 'lf', 'hf'];

/** The density that a band is summed over and the readable time behind it, or why there is none. */
type BandSource = { readonly spectrum: PowerSpectrum; readonly seconds: number; readonly n: number } | string;

function withoutSpectrum(method: string, series: NnSeries, reason?: string): SpectrumResult {
  const readable = readableSeconds(series);
  const sources = byBand(band => reason ?? tooShort(band, readable));
  return { method, spectrum: null, bands: bandPowers(sources), bridgedBreaks: 0, bridgedSeconds: 0 };
}

const isTooShort = (series: NnSeries) => readableSeconds(series) < leastSeconds.hf || series.intervalsMs.length < 3;

/**
 * VLF and LF rest on stretches of two minutes and more, HF on those of one and more: a shorter one cannot tell LF from its
 * trend.
 */
export function welchSpectrum(series: NnSeries): SpectrumResult {
  if (isTooShort(series)) return withoutSpectrum(welchMethod, series);
  const stretches = stretchesOf(series).filter(s => s.intervalsMs.length >= 3);
  const inAll = breaksOf(series);
  const from = (least: number) => stretches.filter(s => readableSeconds(s) >= least);
  const source = (least: number): BandSource => {
    const used = from(least);
    if (used.length === 0) return `no stretch of ${least} s without a break of more than 2 beats or 3 s`;
    return {
      spectrum: averaged(used),
      seconds: used.reduce((sum, s) => sum + readableSeconds(s), 0),
      n: used.reduce((sum, s) => sum + s.intervalsMs.length, 0),
    };
  };
  const slow = source(leastSeconds.lf);
  const isSame = typeof slow !== 'string' && from(leastSeconds.hf).length === from(leastSeconds.lf).length;
  const fast = isSame ? slow : source(leastSeconds.hf);
  const short = readableSeconds(series) < leastSeconds.lf;
  const drawn = typeof slow === 'string' ? fast : slow;
  return {
    method: welchMethod,
    spectrum: typeof drawn === 'string' ? null : drawn.spectrum,
    bands: bandPowers(byBand(band => (band === 'hf' ? fast : short ? tooShort(band, readableSeconds(series)) : slow))),
    bridgedBreaks: inAll.bridged,
    bridgedSeconds: inAll.bridgedSeconds,
  };
}

/** Mean of the stretches' densities, each weighted by its length. All have the frequencies of a full piece. */
function averaged(stretches: readonly NnSeries[]): PowerSpectrum {
  const spectra = stretches.map(s => ({ weight: readableSeconds(s), ...welchOf(s) }));
  const whole = spectra.reduce((sum, s) => sum + s.weight, 0);
  const { frequenciesHz } = spectra[0]!;
  const density = new Float64Array(frequenciesHz.length);
  for (const s of spectra) for (let k = 0; k < density.length; k++) density[k]! += s.weight * s.density[k]!;
  for (let k = 0; k < density.length; k++) density[k]! /= whole;
  return { frequenciesHz, density };
}

function welchOf(stretch: NnSeries): PowerSpectrum {
  const { valuesMs, rateHz } = tachogram(stretch);
  return welch(valuesMs, rateHz);
}

export function lombSpectrum(series: NnSeries): SpectrumResult {
  if (isTooShort(series)) return withoutSpectrum(lombMethod, series);
  const readable = readableSeconds(series);
  const { bridgedSeconds, wideSeconds } = breaksOf(series);
  const missing = (bridgedSeconds + wideSeconds) / (bridgedSeconds + wideSeconds + readable);
  if (missing > mostMissing) {
    return withoutSpectrum(lombMethod, series, `${Math.ceil(100 * missing)} % of the time is missing, more than 20 %`);
  }
  const spectrum = lombScargle(series.timesSeconds, series.intervalsMs, wideGaps(series));
  const source = { spectrum, seconds: readable, n: series.intervalsMs.length };
  const bands = bandPowers(byBand(() => source));
  return { method: lombMethod, spectrum, bands, bridgedBreaks: 0, bridgedSeconds: 0 };
}

function wideGaps(series: NnSeries): SecondsSpan[] {
  const gaps: SecondsSpan[] = [];
  for (let i = 1; i < series.intervalsMs.length; i++) {
    if (isWideBreak(series, i)) {
      gaps.push({ start: series.timesSeconds[i - 1]!, end: series.timesSeconds[i - 1]! + breakBefore(series, i) });
    }
  }
  return gaps;
}

function byBand(of: (band: Band) => BandSource): Record<Band, BandSource> {
  return { vlf: of('vlf'), lf: of('lf'), hf: of('hf') };
}

/** Band powers by the rectangle rule; n = NN intervals behind them. */
function bandPowers(sources: Readonly<Record<Band, BandSource>>): BandPowers {
  const [vlf, lf, hf] = bandNames.map(band => bandPower(band, sources[band]));
  return { vlfMs2: vlf!, lfMs2: lf!, hfMs2: hf!, ...ratios(lf!, hf!) };
}

function bandPower(band: Band, source: BandSource): Computed {
  if (typeof source === 'string') return notComputable(source);
  if (source.seconds < leastSeconds[band]) return notComputable(tooShort(band, source.seconds));
  const { frequenciesHz, density } = source.spectrum;
  const step = frequenciesHz.length > 1 ? frequenciesHz[1]! - frequenciesHz[0]! : 0;
  const [low, high] = bandsHz[band];
  let sum = 0;
  for (let k = 0; k < density.length; k++) {
    if (frequenciesHz[k]! > low + 1e-12 && frequenciesHz[k]! <= high + 1e-12) sum += density[k]!;
  }
  return { value: sum * step, n: source.n };
}

function ratios(lf: Computed, hf: Computed): Pick<BandPowers, 'lfNu' | 'hfNu' | 'lfHf'> {
  const all = (result: Computed) => ({ lfNu: result, hfNu: result, lfHf: result });
  if (lf.value === null) return all(lf);
  if (hf.value === null) return all(hf);
  const sum = lf.value + hf.value;
  const n = Math.min(lf.n, hf.n);
  // Rounding leaves some 1e-20 ms^2 where there is no variation at all.
  if (sum < 1e-9) return all(notComputable('no power in LF and HF'));
  return {
    lfNu: { value: (100 * lf.value) / sum, n },
    hfNu: { value: (100 * hf.value) / sum, n },
    lfHf: hf.value > 1e-9 ? { value: lf.value / hf.value, n } : notComputable('no power in HF'),
  };
}

function tooShort(band: Band, readable: number): string {
  return `${band.toUpperCase()} needs ${leastSeconds[band]} s of readable time, has ${Math.floor(readable)} s`;
}
