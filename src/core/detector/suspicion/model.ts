import type { ReasonId } from './reasons';

interface Model {
  readonly constant: number;
  readonly reasons: Readonly<Partial<Record<ReasonId, number>>>;
}

/**
 * Log-odds of a mistake: a constant, and what each reason adds at full strength. Written by `npm run bench:calibration -- --write`
 * from real and planted mistakes, with the built-in detector 11 as the second one; a reason may speak for a mark.
 */
export const models: Readonly<Record<'mark' | 'gap', Model>> = {
  mark: {
    constant: -4.82,
    reasons: {
      amplitude: 0.13,
      'another lead: elsewhere': 3.08,
      'baseline step': 0.11,
      'beside a gap': 0,
      'higher peak beside': 1.98,
      'in noise: elsewhere': 1.18,
      'in noise: none here': -0.05,
      noise: -0.16,
      'off the peak': 0.13,
      'second detector: doubtful': 1.12,
      'second detector: elsewhere': 6.73,
      'second detector: none here': 6.64,
      shape: 0.91,
      'short interval': 0.46,
      'short-long pair': -0.71,
    },
  },
  gap: {
    constant: -4.03,
    reasons: {
      'in noise: one more': 3.4,
      'long interval': 1.17,
      'multiple interval': 0.41,
      'pause after an early beat': -1.5,
      'second detector: one more': 9.41,
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
      'short-long pair': -2.23,
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
export const unlistedChance = 0.00042;
