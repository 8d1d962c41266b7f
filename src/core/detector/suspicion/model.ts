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
    constant: -4.79,
    reasons: {
      amplitude: -0.06,
      'another lead: elsewhere': 2.99,
      'baseline step': 0.21,
      'beside a gap': 0,
      'higher peak beside': 2.15,
      'in noise: elsewhere': 2.67,
      'in noise: none here': 1.44,
      noise: -0.96,
      'off the peak': -0.01,
      'second detector: doubtful': 1.68,
      'second detector: elsewhere': 6.52,
      'second detector: none here': 6.48,
      shape: 0.95,
      'short interval': 0.8,
      'short-long pair': -0.64,
    },
  },
  gap: {
    constant: -4.04,
    reasons: {
      'in noise: one more': 3.87,
      'long interval': 1.33,
      'multiple interval': 1.21,
      'pause after an early beat': -1.22,
      'second detector: one more': 9.25,
    },
  },
};

/** The same where no second detector ran. */
export const modelsAlone: typeof models = {
  mark: {
    constant: -4.57,
    reasons: {
      amplitude: 1.96,
      'another lead: elsewhere': 3.05,
      'baseline step': 1.21,
      'beside a gap': 0,
      'higher peak beside': 6.46,
      noise: -1.28,
      'off the peak': 0.1,
      shape: 1.86,
      'short interval': 2.37,
      'short-long pair': -2.17,
    },
  },
  gap: {
    constant: -2.53,
    reasons: {
      'long interval': 5.35,
      'multiple interval': 5.01,
      'pause after an early beat': -1.43,
    },
  },
};

/** The chance that a mark is a mistake which nothing speaks against. */
export const unlistedChance = 0.0006;
