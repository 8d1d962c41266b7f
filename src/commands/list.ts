import { downloadBundle } from '../state/backup/download-bundle';
import { active, itemAtCaret, type ReviewWorkspace } from '../state/review/workspace';
import type { Dialog } from '../state/stores/ui-store';
import type { Group, ReviewCommand } from './command';
import * as display from './display';
import * as edits from './edits';
import { lookUpOnOther } from './evidence';
import * as navigate from './navigate';
import * as notSinus from './not-sinus';
import * as places from './places';
import { goOnWithSample, leaveSample, maySample, skipStretch } from './sampling';
import { signOffOffered } from './sign-off';

type Run = ReviewCommand['run'];
type When = NonNullable<ReviewCommand['when']>;

/** Rows of one group: id, title, keys, why, what it does, when it can. */
type Row = readonly [id: string, title: string, keys: string, why: string, run: Run, when?: When];

function group(name: Group, rows: readonly Row[]): ReviewCommand[] {
  return rows.map(([id, title, keys, why, run, when]) => {
    const repeats = mayRepeat.has(id) ? { repeats: true } : {};
    return {
      id,
      title,
      group: name,
      scene: 'review',
      keys: keys.split(' '),
      why,
      run,
      ...(when ? conditionOf(when) : {}),
      ...repeats,
    };
  });
}

/** Stepping and nudging: a held key goes on, one small step after the other, and nothing is judged by it. */
const mayRepeat: ReadonlySet<string> = new Set([
  'mark.next',
  'mark.previous',
  'mark.fiveOn',
  'mark.fiveBack',
  'caret.right',
  'caret.left',
  'row.down',
  'row.up',
  'mark.left',
  'mark.right',
  'mark.farLeft',
  'mark.farRight',
  'zoom.in',
  'zoom.out',
  'gain.up',
  'gain.down',
]);

const onMark: When = workspace => active(workspace).selected !== null;
const suspicious: When = workspace => itemAtCaret(workspace, 'shown') !== undefined;
const suggested: When = workspace => (itemAtCaret(workspace, 'shown')?.candidates.length ?? 0) > 0;

const sampling: When = workspace => workspace.view.getState().sampling !== null;
const proposing: When = workspace => workspace.proposals !== undefined;

/** What each condition asks for, in words. */
const needs: ReadonlyMap<When, string> = new Map([
  [onMark, 'No mark under the caret: step to one with the arrow keys.'],
  [proposing, 'No beats are proposed here.'],
  [sampling, 'No sample is shown.'],
  [maySample, 'No sample can be reviewed here.'],
]);

/** The list of places follows an edit a moment later: what is shown decides what is offered, not what a key can do. */
function conditionOf(when: When): Pick<ReviewCommand, 'when' | 'needs' | 'offered'> {
  if (when === suspicious || when === suggested) return { offered: when };
  return { when, needs: needs.get(when)! };
}

function sheet(dialog: Dialog): Run {
  return (_workspace, app) => {
    app.ui.openDialog(dialog);
    return true;
  };
}

/** Runs the work and counts as done. */
function always(work: (workspace: ReviewWorkspace) => void): Run {
  return workspace => {
    work(workspace);
    return true;
  };
}

const tenMs = (workspace: ReviewWorkspace) => Math.max(1, Math.round(active(workspace).rateHz * 0.01));

const give: Run = (workspace, app) => {
  void downloadBundle(app, workspace);
  return true;
};

/** Everything a person can do in a review, in the order of the help sheet. */
export const reviewCommands: readonly ReviewCommand[] = [
  ...group('Go', [
    ['mark.next', 'next mark', 'ArrowRight', 'the way time runs', (d, a) => navigate.stepMark(d, a, 1)],
    ['mark.previous', 'previous mark', 'ArrowLeft', 'back in time', (d, a) => navigate.stepMark(d, a, -1)],
    ['mark.fiveOn', 'five marks on', '}', 'a bracket, further with Shift', (d, a) => navigate.stepMarks(d, a, 5)],
    ['mark.fiveBack', 'five marks back', '{', 'and back', (d, a) => navigate.stepMarks(d, a, -5)],
    ['page.next', 'next page', 'Space', 'the widest key turns the page', (d, a) => navigate.turnPage(d, a, 1)],
    ['page.previous', 'previous page', 'Shift+Space', 'Shift goes back', (d, a) => navigate.turnPage(d, a, -1)],
    ['caret.right', 'caret right by 40 ms', 'Shift+ArrowRight', 'one small box on', d => navigate.stepCaret(d, 0.04)],
    ['caret.left', 'caret left by 40 ms', 'Shift+ArrowLeft', 'one small box back', d => navigate.stepCaret(d, -0.04)],
    [
      'row.down',
      'the same place one row down',
      'Shift+ArrowDown',
      'Shift moves the caret',
      d => navigate.stepRow(d, 1),
    ],
    ['row.up', 'the same place one row up', 'Shift+ArrowUp', 'and back up', d => navigate.stepRow(d, -1)],
    ['segment.next', 'next segment', 'PageDown', 'further down the protocol', (d, a) => navigate.stepSegment(d, a, 1)],
    [
      'segment.previous',
      'previous segment',
      'PageUp',
      'further up the protocol',
      (d, a) => navigate.stepSegment(d, a, -1),
    ],
    ['recording.start', 'start of the recording', 'Home', 'where it begins', always(d => navigate.goTo(d, 0))],
    [
      'recording.end',
      'end of the recording',
      'End',
      'where it ends',
      always(d => navigate.goTo(d, active(d).lastSample)),
    ],
    ['unseen.next', 'next place not looked at', 'v', 'v for view', navigate.goToUnseen],
    ['time.go', 'go to a time', 'g', 'g for go', sheet('go to')],
    [
      'walk.next',
      'next occurrence of the chosen count',
      '] F3',
      'brackets step through a list, and F3 finds the next as everywhere',
      (d, a) => navigate.stepOccurrence(d, a, 1),
    ],
    [
      'walk.previous',
      'previous occurrence of the chosen count',
      '[ Shift+F3',
      'and back',
      (d, a) => navigate.stepOccurrence(d, a, -1),
    ],
  ]),
  ...group('Judge', [
    ['mark.keep', 'keep this mark', 'k', 'k for keep', edits.accept, onMark],
    ['mark.notSinus', 'this beat is not sinus, or is after all', 'Shift+k', 'kept, but', edits.markNotSinus, onMark],
    [
      'notSinus.next',
      'next beat proposed as not sinus; after the last one confirm the list',
      'y',
      'y, as in why: is it sinus?',
      (d, a) => notSinus.stepProposal(d, a, 1),
      proposing,
    ],
    [
      'notSinus.previous',
      'previous beat proposed as not sinus',
      'Shift+y',
      'Shift goes back',
      (d, a) => notSinus.stepProposal(d, a, -1),
      proposing,
    ],
    [
      'notSinus.aside',
      'this proposed beat is sinus: set it aside and go on',
      'Shift+a',
      'a for aside',
      notSinus.setProposalAside,
      proposing,
    ],
    [
      'notSinus.kind',
      'see all proposed beats of this kind and decide them together',
      'Shift+d',
      'd for different, all of them',
      notSinus.showKind,
      proposing,
    ],
    ['page.accept', 'accept the page and turn it', 'Enter', 'enter it in the ledger', places.acceptAndTurn],
    ['page.acceptStay', 'accept the page and stay', 'Shift+Enter', 'enter, but keep the page', edits.acceptPage],
    [
      'segment.signOff',
      'sign off the segment just completed, or the one under the caret',
      'o',
      'o for off',
      (d, a) => signOffOffered(d, a) || sheet('sign off')(d, a),
    ],
    ['segment.reopen', 'reopen what was signed off', 'Shift+o', 'the reverse of signing off', sheet('reopen')],
    ['review.finish', 'finish the review', 'Mod+Enter', 'enter, for the whole ledger', sheet('finish')],
  ]),
  ...group('Sample', [
    [
      'sample.next',
      'review a sample, or go on with it',
      'q',
      'q for quality, sampled',
      (d, a) => goOnWithSample(d, a) || (d.purpose === 'review' && sheet('sample')(d, a)),
      maySample,
    ],
    ['sample.skip', 'skip this stretch of the sample', 'Shift+v', 'v for viewed, Shift for not', skipStretch, sampling],
    [
      'sample.leave',
      'leave the sample, back to the order of time',
      'Shift+q',
      'the reverse of q',
      always(leaveSample),
      sampling,
    ],
  ]),
  ...group('Correct', [
    ['mark.remove', 'remove this mark', 'Delete Backspace', 'as in any text', edits.removeAtCaret, onMark],
    [
      'mark.insert',
      'insert a mark on the R apex near the caret',
      'i',
      'i for insert',
      (d, a) => edits.insertNear(d, a, active(d).caret),
    ],
    [
      'mark.insertHere',
      'insert a mark exactly at the caret',
      'Shift+i',
      'insert, exactly here',
      (d, a) => edits.insertAt(d, a, active(d).caret),
    ],
    ['mark.snap', 'snap this mark to the R apex of beats like it', 's', 's for snap', edits.snap, onMark],
    [
      'mark.left',
      'move this mark one sample left',
      ',',
      'the key with < on it',
      (d, a) => edits.moveBy(d, a, -1),
      onMark,
    ],
    [
      'mark.right',
      'move this mark one sample right',
      '.',
      'the key with > on it',
      (d, a) => edits.moveBy(d, a, 1),
      onMark,
    ],
    [
      'mark.farLeft',
      'move this mark 10 ms left',
      '<',
      'Shift: further',
      (d, a) => edits.moveBy(d, a, -tenMs(d)),
      onMark,
    ],
    [
      'mark.farRight',
      'move this mark 10 ms right',
      '>',
      'Shift: further',
      (d, a) => edits.moveBy(d, a, tenMs(d)),
      onMark,
    ],
    ['span.unreadable', 'begin or end an unreadable span', 'u', 'u for unreadable', edits.markUnreadable],
    ['span.readable', 'make the span under the caret readable', 'Shift+u', 'the reverse of u', edits.makeReadable],
    ['edit.undo', 'undo', 'z Mod+z', 'as everywhere, and without Ctrl', (d, a) => edits.takeBack(d, a, 'undo')],
    ['edit.redo', 'redo', 'Shift+z Mod+Shift+z Mod+y', 'the reverse of undo', (d, a) => edits.takeBack(d, a, 'redo')],
  ]),
  ...group('Suspicious places', [
    [
      'place.next',
      'next place worth a look on this page; after the last one accept the page and turn it',
      'j',
      'under the right forefinger, for the whole way through',
      places.nextPlace,
    ],
    ['place.previous', 'previous place worth a look on this page', 'Shift+j', 'Shift goes back', places.previousPlace],
    ['suspicion.next', 'next suspicious place', 'n', 'n for next', (d, a) => navigate.goToSuspicion(d, a, 1)],
    [
      'suspicion.previous',
      'previous suspicious place',
      'Shift+n',
      'Shift goes back',
      (d, a) => navigate.goToSuspicion(d, a, -1),
    ],
    [
      'suspicion.segment',
      'suspicious places of this segment only, or of all',
      'a',
      'a for this activity alone',
      navigate.restrictQueue,
    ],
    [
      'suspicion.take',
      'take the suggestion and go on to the next place on the page',
      't',
      't for take',
      places.takeAndGoOn,
      suggested,
    ],
    ['suspicion.takeStay', 'take the suggestion and stay', 'Shift+t', 'take, but stay here', places.take, suggested],
    [
      'suspicion.dismiss',
      'set the suspicion aside and go on to the next place on the page',
      'x',
      'cross it off the list',
      places.setAsideAndGoOn,
      suspicious,
    ],
    [
      'suspicion.dismissStay',
      'set the suspicion aside and stay',
      'Shift+x',
      'cross it off, but stay here',
      places.setAside,
      suspicious,
    ],
  ]),
  ...group('Remark', [
    ['remark.comment', 'comment on this place', 'c', 'c for comment', sheet('comment')],
    ['remark.flag', 'flag for clinical follow-up', 'f', 'f for flag', sheet('flag')],
  ]),
  ...group('Show', [
    ['zoom.in', 'zoom in', '+ =', 'plus is more', (d, a) => display.zoom(d, a, 1)],
    ['zoom.out', 'zoom out', '-', 'minus is less', (d, a) => display.zoom(d, a, -1)],
    ['gain.up', 'taller waves', 'ArrowUp', 'up is taller', (d, a) => display.changeGain(d, a, 1)],
    ['gain.down', 'flatter waves', 'ArrowDown', 'down is flatter', (d, a) => display.changeGain(d, a, -1)],
    [
      'gain.fit',
      'fit the waves to their rows',
      'Shift+w',
      'w for waves',
      (d, a) => display.fitGain(d, a, a.chart?.roomTaken()),
    ],
    ['rows.change', 'one row or as many as fit', 'w', 'w for wrap', display.changeRows],
    ['lead.next', 'next lead', 'l', 'l for lead', display.nextLead],
    ['lead.all', 'all leads or one', 'Shift+l', 'Shift for all of them', display.allLeads],
    ['recorder.other', 'other recorder', 'r', 'r for recorder', display.otherRecorder],
    [
      'recorder.evidence',
      'look this place up on the other recorder, and note it as evidence',
      'Shift+r',
      'r for recorder, with a note',
      lookUpOnOther,
    ],
    ['clock.open', 'clocks of the two recorders', 'Shift+c', 'c for clock, with Shift', sheet('clock')],
    ['recorder.both', 'both recorders or one', 'b', 'b for both', display.bothRecorders],
    ['filter.baseline', 'baseline filter on the screen', '1', 'first filter', display.toggleBaseline],
    ['filter.mains', 'mains filter on the screen: 50 Hz, 60 Hz, off', '2', 'second filter', display.cycleMains],
    ['filter.muscle', 'muscle-noise filter on the screen', '3', 'third filter', display.toggleMuscle],
  ]),
  ...group('Save and export', [
    ['bundle.give', 'download the session bundle', 'Mod+s', 'save, as everywhere', give],
    ['export.open', 'export', 'e', 'e for export', sheet('export')],
    ['guidance.open', 'the written protocol for raters', 'm', 'm for manual', sheet('guidance')],
    ['settings.open', 'settings', 'Shift+s', 's for settings, with Shift', sheet('settings')],
    ['segments.edit', 'segments', 'Shift+g', 'g for segment', sheet('segments')],
    ['cancel', 'cancel', 'Escape', 'as everywhere', edits.cancel],
  ]),
];
