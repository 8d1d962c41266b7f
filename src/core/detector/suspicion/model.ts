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
    constant: -4.31,
    reasons: {
      amplitude: -0.93,
      'baseline step': 0.53,
      'beside a gap': 0,
      'higher peak beside': 2.79,
      'in noise: elsewhere': 1.93,
      'in noise: none here': 0.44,
      noise: -1.51,
      'off the peak': -0.36,
      'second detector: doubtful': 1.63,
      'second detector: elsewhere': 7.64,
      'second detector: none here': 6.45,
      shape: 0.43,
      'short interval': 0.69,
      'short-long pair': -0.94,
    },
  },
  gap: {
    constant: -4.05,
    reasons: {
      'in noise: one more': 4.01,
      'long interval': 1.23,
      'multiple interval': 0.87,
      'pause after an early beat': -1.19,
      'second detector: one more': 9.16,
    },
  },
};

/** The same where no second detector ran. */
export const modelsAlone: typeof models = {
  mark: {
    constant: -4.07,
    reasons: {
      amplitude: 1.48,
      'baseline step': 1.25,
      'beside a gap': -0.01,
      'higher peak beside': 7.34,
      noise: -1.95,
      'off the peak': 0.47,
      shape: 1.73,
      'short interval': 1.82,
      'short-long pair': -2.24,
    },
  },
  gap: {
    constant: -2.49,
    reasons: {
      'long interval': 5.42,
      'multiple interval': 4.98,
      'pause after an early beat': -1,
    },
  },
};
