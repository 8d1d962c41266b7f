/**
 * Constants of the search for beats in noise and of their apexes. Benchmarks give others to choose them, and to see what
 * each part adds.
 */
export interface NoiseTuning {
  /** Shapes are learnt where beats stand out at least this much (`fillReadability`). */
  readonly learn: number;
  /** Log-odds per unit of Fisher's z by which similarity to a family counts where beats can be read; 0 leaves it out. */
  readonly familyOdds: number;
  /** Similarity to a family, -1 to 1, that says nothing for or against a beat. */
  readonly familyAlike: number;
  /** Beats are looked for by shape and rhythm where they stand out less than this. */
  readonly solve: number;
  /** Beats differ from their average, and noise from its model: evidence of shape is worth this share of what it says. */
  readonly trust: number;
  /** Degrees of freedom of the noise: the fewer, the less a loud stretch says for or against a beat. */
  readonly degrees: number;
  /** How many steps before predict the noise; with 0 it is taken for white. */
  readonly order: number;
  /** Weight of intervals that have not been seen near by; with 1 nothing is known of the rhythm. */
  readonly newInterval: number;
  /** A candidate stands for a stretch of time this long, s: the density of intervals times this is a probability. */
  readonly standsForS: number;
  /** Evidence outside noise counts this many times in a probability: then it is as sure as it turns out to be right. */
  readonly sharpness: number;
  /** The same within noise. */
  readonly noiseSharpness: number;
  /** Where more mistakes than this are to be expected in three seconds, the detector is unsure. */
  readonly unsureAbove: number;
  /** A beat is wide when its range after the band-pass is less than this share of its range before. */
  readonly wideBelow: number;
  /** Of a wide beat's wave up and wave down the greater is marked: steepness counts so many times as height does. */
  readonly steepWeight: number;
  /** Of a narrow beat's the one that is greater in means over so many seconds. */
  readonly broadS: number;
  /** A higher hump of a wide beat is looked for this far from its middle, s. */
  readonly humpS: number;
  /** It is taken where it is further out by this share of the range there. */
  readonly clearlyOut: number;
}

export const noiseTuning: NoiseTuning = {
  learn: 3,
  familyOdds: 3,
  familyAlike: 0.5,
  solve: 6,
  trust: 0.7,
  degrees: 20,
  order: 12,
  newInterval: 0.1,
  standsForS: 0.2,
  sharpness: 2,
  noiseSharpness: 0.5,
  unsureAbove: 1.1,
  wideBelow: 0.46,
  steepWeight: 6,
  broadS: 0.034,
  humpS: 0.09,
  clearlyOut: 0.06,
};
