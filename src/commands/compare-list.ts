import { type ComparisonWorkspace, currentDifference, isComparison } from '../state/compare/comparing';
import type { Dialog } from '../state/stores/ui-store';
import type { CommandContext, ReviewCommand } from './command';
import { reviewCommands } from './list';
import * as settling from './settle';

/** Commands of a review that mean nothing where two raters are compared, or whose keys are needed for settling. */
const leftOut = new Set([
  'unseen.next',
  'walk.next',
  'walk.previous',
  'recorder.both',
  'settings.open',
  'segments.edit',
  'review.finish',
]);
const sharedGroups = new Set(['Go', 'Correct', 'Show', 'Save and export']);

const shared = reviewCommands
  .filter(c => (sharedGroups.has(c.group) || c.id === 'segment.reopen') && !leftOut.has(c.id))
  .map((c): ReviewCommand => ({ ...c, scene: 'compare' }));

type InComparison = (workspace: ComparisonWorkspace, app: CommandContext) => boolean;
type Row = readonly [id: string, title: string, key: string, why: string, run: InComparison, when?: InComparison];

const inComparison =
  (run: InComparison): ReviewCommand['run'] =>
  (workspace, app) =>
    isComparison(workspace) && run(workspace, app);

function sheet(dialog: Dialog): InComparison {
  return (_workspace, app) => {
    app.ui.openDialog(dialog);
    return true;
  };
}

const isSettling: InComparison = workspace => workspace.comparing.settling();
const canSettle: InComparison = workspace => workspace.comparing.settling() && currentDifference(workspace) !== null;
const isChecking: InComparison = workspace => workspace.comparing.store.getState().checking >= 0;

/** What each condition asks for, in words. */
const needs: ReadonlyMap<InComparison, string> = new Map([
  [isSettling, 'Begin settling first.'],
  [canSettle, 'Begin settling and go to a difference first.'],
  [isChecking, 'Go to a stretch of the spot check first.'],
]);

const own: readonly Row[] = [
  ['difference.next', 'next difference', 'n', 'n for next', (d, a) => settling.stepDifference(d, a, 1)],
  [
    'difference.previous',
    'difference before',
    'Shift+n',
    'Shift goes back',
    (d, a) => settling.stepDifference(d, a, -1),
  ],
  ['difference.open', 'next difference not settled', 'v', 'v for view', settling.nextUnsettled, isSettling],
  ['settle.a', 'take A', 'a', 'a for A', (d, a) => settling.takeRating(d, a, 'A'), canSettle],
  ['settle.b', 'take B', 'b', 'b for B', (d, a) => settling.takeRating(d, a, 'B'), canSettle],
  ['settle.placed', 'use this position', 'p', 'p for placed', (d, a) => settling.takeRating(d, a, 'new'), canSettle],
  ['settle.reason', 'settle with a reason', 'y', 'y for why', sheet('settle with reason'), canSettle],
  ['spot.next', 'spot check: next stretch', 'j', 'j for jump', settling.nextStretch, isSettling],
  ['spot.checked', 'spot check: stretch checked, correct', 'k', 'k for keep', settling.stretchChecked, isChecking],
  ['settle.finish', 'finish settling', 'Mod+Enter', 'enter, for the whole ledger', sheet('finish'), isSettling],
];

/** Everything a person can do where two raters are compared. */
export const compareCommands: readonly ReviewCommand[] = [
  ...shared,
  ...own.map(([id, title, key, why, run, when]): ReviewCommand => {
    const can = when ? { when: inComparison(when), needs: needs.get(when)! } : {};
    return { id, title, group: 'Settle', scene: 'compare', keys: [key], why, run: inComparison(run), ...can };
  }),
];
