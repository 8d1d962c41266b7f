import type { Computed } from '../score/result';
import { dfaAlpha1 } from './dfa';
import { type NnSeries, readableSeconds } from './nn';
import { type RrOutlier, rrOutliers } from './outliers';
import { type Poincare, poincare } from './poincare';
import { lombSpectrum, type SpectrumResult, welchSpectrum } from './spectrum';
import { type TimeDomain, timeDomain } from './time-domain';

/** Every heart-rate and HRV number of one NN series. */
export interface HrvSummary {
  readonly intervals: number;
  readonly readableSeconds: number;
  readonly leftOutUnreadable: number;
  readonly leftOutNonSinus: number;
  readonly timeDomain: TimeDomain;
  readonly poincare: Poincare;
  readonly welch: SpectrumResult;
  readonly lomb: SpectrumResult;
  readonly dfaAlpha1: Computed;
  /** Found, not removed: they enter all numbers above. */
  readonly outliers: readonly RrOutlier[];
}

/** `outliers`: those of the series, where they are known. */
export function hrvSummary(
  series: NnSeries,
  outliers: readonly RrOutlier[] = rrOutliers(series.intervalsMs),
): HrvSummary {
  return {
    intervals: series.intervalsMs.length,
    readableSeconds: readableSeconds(series),
    leftOutUnreadable: series.leftOutUnreadable,
    leftOutNonSinus: series.leftOutNonSinus,
    timeDomain: timeDomain(series),
    poincare: poincare(series),
    welch: welchSpectrum(series),
    lomb: lombSpectrum(series),
    dfaAlpha1: dfaAlpha1(series),
    outliers,
  };
}
