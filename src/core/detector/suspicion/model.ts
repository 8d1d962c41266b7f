import type { ReasonId } from './reasons';

interface Model {
  readonly constant: number;
  readonly reasons: Readonly<Partial<Record<ReasonId, number>>>;
}

/**
 * Log-odds of a mistake: a constant, and what each reason adds at full strength. Written by `npm run bench:calibration -- --write`
 * from real and planted mistakes; a reason may speak for a mark.
 */
export const models: Readonly<Record<'mark' | 'gap', Model>> = {
  mark: {
    constant: -3.96,
    reasons: {
      amplitude: 0.07,
      'baseline step': 1.27,
      'beside a gap': -0.01,
      'higher peak beside': 4.23,
      'in noise: elsewhere': 3.74,
      'in noise: none here': 3.47,
      noise: -1.94,
      'off the peak': 0.25,
      'second detector: elsewhere': 3.24,
      'second detector: none here': 3.77,
      shape: 1.28,
      'short interval': 0.93,
      'short-long pair': -1.2,
    },
  },
  gap: {
    constant: -3.28,
    reasons: {
      'in noise: one more': 2.82,
      'long interval': 3.57,
      'multiple interval': 2.29,
      'pause after an early beat': -0.18,
      'second detector: one more': 6.84,
    },
  },
};
