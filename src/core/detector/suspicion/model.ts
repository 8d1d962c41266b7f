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
      amplitude: -0.23,
      'another lead: elsewhere': 3.01,
      'baseline step': 0.22,
      'beside a gap': 0,
      'higher peak beside': 2.18,
      'in noise: elsewhere': 2.77,
      'in noise: none here': 1.46,
      noise: -0.96,
      'off the peak': -0.09,
      'second detector: doubtful': 1.71,
      'second detector: elsewhere': 6.49,
      'second detector: none here': 6.53,
      shape: 0.94,
      'short interval': 0.84,
      'short-long pair': -0.61,
    },
  },
  gap: {
    constant: -4.05,
    reasons: {
      'in noise: one more': 3.89,
      'long interval': 1.34,
      'multiple interval': 1.13,
      'pause after an early beat': -1.21,
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
