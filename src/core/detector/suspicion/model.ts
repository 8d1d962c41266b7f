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
      amplitude: -0.2,
      'another lead: elsewhere': 2.99,
      'baseline step': 0.16,
      'beside a gap': 0,
      'higher peak beside': 2.15,
      'in noise: elsewhere': 3.09,
      'in noise: none here': 0.46,
      noise: -0.95,
      'off the peak': 0.04,
      'second detector: doubtful': 1.71,
      'second detector: elsewhere': 6.54,
      'second detector: none here': 6.53,
      shape: 0.89,
      'short interval': 0.81,
      'short-long pair': -0.77,
    },
  },
  gap: {
    constant: -4.03,
    reasons: {
      'in noise: one more': 3.74,
      'long interval': 1.46,
      'multiple interval': 0.54,
      'pause after an early beat': -1.51,
      'second detector: one more': 9.24,
    },
  },
};

/** The same where no second detector ran. */
export const modelsAlone: typeof models = {
  mark: {
    constant: -4.58,
    reasons: {
      amplitude: 1.97,
      'another lead: elsewhere': 3.05,
      'baseline step': 1.22,
      'beside a gap': 0,
      'higher peak beside': 6.47,
      noise: -1.27,
      'off the peak': 0.1,
      shape: 1.87,
      'short interval': 2.35,
      'short-long pair': -2.16,
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
export const unlistedChance = 0.00061;
