import { comparingOf, currentDifference } from '../state/compare/comparing';
import type { Dialog } from '../state/stores/ui-store';
import type { Command } from './command';
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
const sharedGroups = new Set(['Go', 'Correct', 'Show', 'Keep and hand on']);

const shared = reviewCommands
  .filter(c => c.scene === 'review' && (sharedGroups.has(c.group) || c.id === 'segment.reopen') && !leftOut.has(c.id))
  .map((c): Command => ({ ...c, scene: 'compare' }));

type Row = readonly [id: string, title: string, key: string, why: string, run: Command['run'], when?: Command['when']];

function sheet(dialog: Dialog): Command['run'] {
  return (_desk, app) => {
    app.ui.openDialog(dialog);
    return true;
  };
}

const isSettling: Command['when'] = workspace => workspace.comparing?.settling() ?? false;
const canSettle: Command['when'] = workspace =>
  (workspace.comparing?.settling() ?? false) && currentDifference(workspace) !== null;
const isChecking: Command['when'] = workspace => comparingOf(workspace).store.getState().checking >= 0;

const own: readonly Row[] = [
  ['difference.next', 'next difference', 'n', 'n for next', (d, a) => settling.stepDifference(d, a, 1)],
  [
    'difference.previous',
    'difference before',
    'Shift+n',
    'Shift goes back',
    (d, a) => settling.stepDifference(d, a, -1),
  ],
  [
    'difference.open',
    'next difference not settled',
    'v',
    'v, as for what was not viewed',
    settling.nextUnsettled,
    isSettling,
  ],
  ['settle.a', 'take A', 'a', 'a for A', (d, a) => settling.take(d, a, 'A'), canSettle],
  ['settle.b', 'take B', 'b', 'b for B', (d, a) => settling.take(d, a, 'B'), canSettle],
  ['settle.placed', 'take what is placed here', 'p', 'p for placed', (d, a) => settling.take(d, a, 'new'), canSettle],
  ['settle.reason', 'settle with a reason', 'y', 'y for why', sheet('settle with reason'), canSettle],
  ['spot.next', 'spot check: next stretch', 'j', 'j for jump', settling.nextStretch, isSettling],
  ['spot.checked', 'spot check: this stretch is right now', 'k', 'k for keep', settling.stretchChecked, isChecking],
  ['settle.finish', 'finish settling', 'Mod+Enter', 'enter, for the whole ledger', sheet('finish'), isSettling],
];

/** Everything a person can do where two raters are compared. */
export const compareCommands: readonly Command[] = [
  ...shared,
  ...own.map(([id, title, key, why, run, when]): Command => {
    return { id, title, group: 'Settle', scene: 'compare', keys: [key], why, run, ...(when ? { when } : {}) };
  }),
];
