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
    constant: -4.15,
    reasons: {
      amplitude: -0.69,
      'baseline step': 0.2,
      'beside a gap': -0.01,
      'higher peak beside': 1.9,
      'in noise: elsewhere': 1.59,
      'in noise: none here': 0.44,
      noise: -1.62,
      'off the peak': 0.01,
      'second detector: doubtful': 1.71,
      'second detector: elsewhere': 8.1,
      'second detector: none here': 6.26,
      shape: 0.77,
      'short interval': 0.54,
      'short-long pair': -1.04,
    },
  },
  gap: {
    constant: -4.04,
    reasons: {
      'in noise: one more': 4,
      'long interval': 1.23,
      'multiple interval': 0.86,
      'pause after an early beat': -1.22,
      'second detector: one more': 9.2,
    },
  },
};

/** The same where no second detector ran. */
export const modelsAlone: typeof models = {
  mark: {
    constant: -4.04,
    reasons: {
      amplitude: 1.42,
      'baseline step': 1.2,
      'beside a gap': -0.01,
      'higher peak beside': 7.27,
      noise: -2.02,
      'off the peak': 0.47,
      shape: 1.7,
      'short interval': 1.98,
      'short-long pair': -2.34,
    },
  },
  gap: {
    constant: -2.53,
    reasons: {
      'long interval': 5.33,
      'multiple interval': 5,
      'pause after an early beat': -1.41,
    },
  },
};

/** The chance that a mark is a mistake which nothing speaks against. */
export const unlistedChance = 0.00099;
