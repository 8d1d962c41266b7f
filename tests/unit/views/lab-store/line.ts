import { type BoardLine, nothingStored } from '../../../../src/state/sharing/board-line';

/** A line of the board: a rater's first place in one session, of which nothing is stored but what is given. */
export function boardLine(part: Partial<BoardLine> = {}): BoardLine {
  return {
    rater: 'R1',
    session: 'V01-am',
    title: 'V01, morning',
    place: 'first',
    due: null,
    calibration: false,
    repeats: null,
    agreement: null,
    ...nothingStored,
    ...part,
  };
}
