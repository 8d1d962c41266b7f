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
    constant: -5.04,
    reasons: {
      amplitude: 0,
      'another lead: elsewhere': 3.52,
      'baseline step': 0.32,
      'beside a gap': 0,
      'higher peak beside': 0.94,
      'in noise: elsewhere': 2.98,
      'in noise: none here': 0.48,
      noise: -0.6,
      'off the peak': 0.12,
      'second detector: doubtful': 1.66,
      'second detector: elsewhere': 6.53,
      'second detector: none here': 6.73,
      shape: 0.95,
      'short interval': 1.07,
      'short-long pair': -0.66,
    },
  },
  gap: {
    constant: -4.04,
    reasons: {
      'in noise: one more': 3.74,
      'long interval': 1.48,
      'multiple interval': 0.55,
      'pause after an early beat': -1.5,
      'second detector: one more': 9.23,
    },
  },
};

/** The same where no second detector ran. */
export const modelsAlone: typeof models = {
  mark: {
    constant: -4.77,
    reasons: {
      amplitude: 2.22,
      'another lead: elsewhere': 3.52,
      'baseline step': 1.27,
      'beside a gap': 0,
      'higher peak beside': 5.52,
      noise: -0.86,
      'off the peak': 0.09,
      shape: 1.91,
      'short interval': 2.52,
      'short-long pair': -2.04,
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
export const unlistedChance = 0.00061;
