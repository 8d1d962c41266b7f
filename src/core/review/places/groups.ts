import type { ReasonId } from '../../detector/suspicion/reasons';

/**
 * The queue's line: above it a place is worth a look, below it looking page by page finds more. One in ten such places
 * is a mistake (tests/bench/calibration).
 */
export const worthALook = 0.1;

/** Places of which little speaks against the mark, and neither the second detector nor another lead. */
export const faint = 'faint';

/**
 * Places whose chances lie too high or too low together in one recording: those of one first reason; and all those below
 * the line that the second detector and the other leads have nothing to say about.
 * @param score the model's chance of a mistake
 * @param reasons strongest first
 */
export function groupOf(score: number, reasons: readonly ReasonId[]): string {
  const othersSpeak = reasons.some(r => /^(second detector|in noise|another lead): /.test(r));
  return score < worthALook && !othersSpeak ? faint : reasons[0]!;
}

/**
 * How far the log-odds of a group usually lie off in a recording, as a standard deviation. Chosen so that the ranges given
 * hold in recordings that the model has not seen (tests/bench/calibration); what is faint is the least alike.
 */
export function usualSpread(group: string): number {
  return group === faint ? 2 : 1.7;
}
