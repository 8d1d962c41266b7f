/**
 * What an entry records about the whole review. A fact stays for good: undo passes over it, and what holds now follows
 * from all of them in order.
 */

/** A log as it stood: the rater's code, how many entries it had, and the hash of the last one (of the header without any). */
export interface LogReference {
  readonly rater: string;
  readonly entries: number;
  /** 64 hexadecimal digits; only the first 12, or none for a log without entries, where version 1 wrote it. */
  readonly hash: string;
}

/** An adjudicated log starts from what these two agree on. */
export interface SettledLogsFact {
  readonly kind: 'settledLogs';
  readonly a: LogReference;
  readonly b: LogReference;
}

/** Drawn before the first stretch of a spot check is looked at. */
export interface SpotCheckPlanFact {
  readonly kind: 'spotCheckPlan';
  /** Share of the agreed stretches to look at, in [0, 1]. */
  readonly share: number;
  /** Whole number; the same seed picks the same stretches. */
  readonly seed: number;
  readonly stretchSeconds: number;
}

/** From here on the rater may have seen others' reviews of this session: what they rate later is not blind. */
export interface UnblindedFact {
  readonly kind: 'unblinded';
  readonly by: 'comparison' | 'report' | 'lesson' | 'export' | 'store';
  /** Codes of those whose reviews could be seen. */
  readonly raters: readonly string[];
}

/** The review was done by another rater than its code says: the wrong code was chosen. */
export interface ReassignedFact {
  readonly kind: 'reassigned';
  readonly from: string;
  readonly to: string;
}

export type Fact = SettledLogsFact | SpotCheckPlanFact | UnblindedFact | ReassignedFact;
