import type { HrvSummary } from '../hrv/summary';
import { type Computed, notComputable } from '../score/result';

/** One heart-rate or HRV number: how it is called, printed and found. */
export interface HrvMeasure {
  readonly key: string;
  readonly label: string;
  readonly unit: string;
  readonly places: number;
  readonly of: (summary: HrvSummary) => Computed;
}

const measure = (key: string, label: string, unit: string, places: number, of: HrvMeasure['of']): HrvMeasure => ({
  key,
  label,
  unit,
  places,
  of,
});

/** Natural logarithm: powers and RMSSD are skew, so means are taken of it. */
function ln(result: Computed): Computed {
  if (result.value === null) return result;
  return result.value > 0 ? { value: Math.log(result.value), n: result.n } : notComputable('ln of 0');
}

/** In the order of the tables. */
export const hrvMeasures: readonly HrvMeasure[] = [
  measure('meanHeartRate', 'mean heart rate', 'bpm', 1, s => s.timeDomain.meanHeartRateBpm),
  measure('minHeartRate', 'lowest heart rate', 'bpm', 1, s => s.timeDomain.minHeartRateBpm),
  measure('maxHeartRate', 'highest heart rate', 'bpm', 1, s => s.timeDomain.maxHeartRateBpm),
  measure('meanNn', 'mean NN', 'ms', 1, s => s.timeDomain.meanNnMs),
  measure('sdnn', 'SDNN', 'ms', 1, s => s.timeDomain.sdnnMs),
  measure('sdann', 'SDANN', 'ms', 1, s => s.timeDomain.sdannMs),
  measure('rmssd', 'RMSSD', 'ms', 1, s => s.timeDomain.rmssdMs),
  measure('lnRmssd', 'ln RMSSD', 'ln ms', 2, s => ln(s.timeDomain.rmssdMs)),
  measure('sdsd', 'SDSD', 'ms', 1, s => s.timeDomain.sdsdMs),
  measure('nn50', 'NN50', '', 0, s => s.timeDomain.nn50),
  measure('pnn50', 'pNN50', '%', 1, s => s.timeDomain.pnn50Percent),
  measure('triangularIndex', 'triangular index', '', 1, s => s.timeDomain.triangularIndex),
  measure('sd1', 'SD1', 'ms', 1, s => s.poincare.sd1Ms),
  measure('sd2', 'SD2', 'ms', 1, s => s.poincare.sd2Ms),
  measure('lombVlf', 'VLF, Lomb-Scargle', 'ms²', 0, s => s.lomb.bands.vlfMs2),
  measure('lombLf', 'LF, Lomb-Scargle', 'ms²', 0, s => s.lomb.bands.lfMs2),
  measure('lombLnLf', 'ln LF, Lomb-Scargle', 'ln ms²', 2, s => ln(s.lomb.bands.lfMs2)),
  measure('lombHf', 'HF, Lomb-Scargle', 'ms²', 0, s => s.lomb.bands.hfMs2),
  measure('lombLnHf', 'ln HF, Lomb-Scargle', 'ln ms²', 2, s => ln(s.lomb.bands.hfMs2)),
  measure('lombLfNu', 'LF, Lomb-Scargle', 'n.u.', 1, s => s.lomb.bands.lfNu),
  measure('lombHfNu', 'HF, Lomb-Scargle', 'n.u.', 1, s => s.lomb.bands.hfNu),
  measure('lombLfHf', 'LF/HF, Lomb-Scargle', '', 2, s => s.lomb.bands.lfHf),
  measure('welchVlf', 'VLF, Welch', 'ms²', 0, s => s.welch.bands.vlfMs2),
  measure('welchLf', 'LF, Welch', 'ms²', 0, s => s.welch.bands.lfMs2),
  measure('welchLnLf', 'ln LF, Welch', 'ln ms²', 2, s => ln(s.welch.bands.lfMs2)),
  measure('welchHf', 'HF, Welch', 'ms²', 0, s => s.welch.bands.hfMs2),
  measure('welchLnHf', 'ln HF, Welch', 'ln ms²', 2, s => ln(s.welch.bands.hfMs2)),
  measure('welchLfNu', 'LF, Welch', 'n.u.', 1, s => s.welch.bands.lfNu),
  measure('welchHfNu', 'HF, Welch', 'n.u.', 1, s => s.welch.bands.hfNu),
  measure('welchLfHf', 'LF/HF, Welch', '', 2, s => s.welch.bands.lfHf),
  measure('dfaAlpha1', 'DFA alpha1', '', 2, s => s.dfaAlpha1),
];

/** Shown in the summary over volunteers; the rest is in the supplement and the tables beside the report. */
export const chiefMeasures = [
  'meanHeartRate',
  'sdnn',
  'rmssd',
  'lnRmssd',
  'pnn50',
  'lombLnLf',
  'lombLnHf',
  'welchLnLf',
  'welchLnHf',
  'dfaAlpha1',
];

export function measureOf(key: string): HrvMeasure {
  const found = hrvMeasures.find(m => m.key === key);
  if (!found) throw new RangeError(`no HRV measure ${key}`);
  return found;
}
