import type { ReasonId } from './reasons';

interface Model {
  readonly constant: number;
  readonly reasons: Readonly<Partial<Record<ReasonId, number>>>;
}

/**
 * Log-odds of a mistake: a constant, and what each reason adds at full strength. Written by `npm run bench:calibration -- --write`
 * from real and planted mistakes, with the built-in detector 8 as the second one; a reason may speak for a mark.
 */
export const models: Readonly<Record<'mark' | 'gap', Model>> = {
  mark: {
    constant: -4.77,
    reasons: {
      amplitude: 0.06,
      'another lead: elsewhere': 2.99,
      'baseline step': 0.34,
      'beside a gap': 0,
      'higher peak beside': 1.89,
      'in noise: elsewhere': 2.39,
      'in noise: none here': 1.46,
      noise: -0.17,
      'off the peak': 0.04,
      'second detector: doubtful': 0.84,
      'second detector: elsewhere': 6.8,
      'second detector: none here': 6.57,
      shape: 1.13,
      'short interval': 0.68,
      'short-long pair': -0.89,
    },
  },
  gap: {
    constant: -4.07,
    reasons: {
      'in noise: one more': 3.83,
      'long interval': 1.46,
      'multiple interval': 1.22,
      'pause after an early beat': -1.46,
      'second detector: one more': 9.33,
    },
  },
};

/** The same where no second detector ran. */
export const modelsAlone: typeof models = {
  mark: {
    constant: -4.56,
    reasons: {
      amplitude: 1.97,
      'another lead: elsewhere': 3.05,
      'baseline step': 1.23,
      'beside a gap': 0,
      'higher peak beside': 6.38,
      noise: -0.28,
      'off the peak': 0.1,
      shape: 1.86,
      'short interval': 2.35,
      'short-long pair': -2.24,
    },
  },
  gap: {
    constant: -2.53,
    reasons: {
      'long interval': 5.34,
      'multiple interval': 5.01,
      'pause after an early beat': -1.43,
    },
  },
};

/** The chance that a mark is a mistake which nothing speaks against. */
export const unlistedChance = 0.00048;
