import { describe, expect, test } from 'vitest';
import { apply, type Change, invert } from '../../../../src/core/marks/edit';
import { marksFrom } from '../../../../src/core/marks/markset';
import * as edits from '../../../../src/core/review/edits';
import { sampleIndex, span } from '../../../../src/core/units';
import { editing, recordingWith } from './sample-session';

const item = recordingWith({
  detected: [50, 150, 250, 350, 550, 650],
  segments: [
    ['rest', 0, 500],
    ['approach hike', 500, 1000],
  ],
});
const s = sampleIndex;
const signed = [{ segment: 'rest', at: '2026-02-15T10:00:00Z', reason: null }];

function done(built: edits.Built): Change {
  if (built === null || edits.isRefusal(built)) throw new Error(`expected a change, got ${JSON.stringify(built)}`);
  return built;
}

function refused(built: edits.Built): string {
  if (!edits.isRefusal(built)) throw new Error(`expected a refusal, got ${JSON.stringify(built)}`);
  return built.refused;
}

// source: the rules of this project's review; every expected state is written out by hand.
describe('marks', () => {
  test('a move takes the mark along and accepts its new place', () => {
    const e = editing(item);
    const review = apply(e.review, done(edits.moveMark(e, s(150), s(160))));
    expect([...review.marks]).toEqual([50, 160, 250, 350, 550, 650]);
    expect(review.accepted).toEqual([span(160, 161)]);
    expect(edits.moveMark(e, s(150), s(150))).toBeNull();
    expect(refused(edits.moveMark(e, s(150), s(250)))).toBe('Another mark is already there.');
    expect(refused(edits.moveMark(e, s(151), s(160)))).toBe('There is no mark at that place.');
    expect(refused(edits.moveMark(e, s(650), s(1000)))).toBe('That place is outside the recording.');
  });

  test('insert, delete and accept', () => {
    const e = editing(item);
    expect(done(edits.insertMark(e, s(450)))).toEqual([
      { op: 'marks', removed: [], added: [450] },
      { op: 'accepted', removed: [], added: [span(450, 451)] },
    ]);
    expect(refused(edits.insertMark(e, s(350)))).toBe('A mark is already there.');
    expect(done(edits.deleteMark(e, s(350)))).toEqual([{ op: 'marks', removed: [350], added: [] }]);
    expect(refused(edits.deleteMark(e, s(351)))).toBe('There is no mark at that place.');
    expect(done(edits.acceptMark(e, s(350)))).toEqual([{ op: 'accepted', removed: [], added: [span(350, 351)] }]);
    expect(edits.acceptMark(editing(item, { accepted: [span(300, 400)] }), s(350))).toBeNull();
    expect(refused(edits.acceptMark(e, s(351)))).toBe('There is no mark at that place.');
  });

  test('a beat that is not sinus keeps its mark; the word goes with it when it is moved and ends when it is deleted', () => {
    const e = editing(item);
    const marked = done(edits.toggleNotSinus(e, s(150)));
    expect(marked).toEqual([{ op: 'notSinus', removed: [], added: [150] }]);
    const review = apply(e.review, marked);
    expect([[...review.marks], [...review.notSinus]]).toEqual([[50, 150, 250, 350, 550, 650], [150]]);
    const after = { ...e, review };
    expect([...apply(review, done(edits.toggleNotSinus(after, s(150)))).notSinus]).toEqual([]);
    const moved = apply(review, done(edits.moveMark(after, s(150), s(160))));
    expect([[...moved.notSinus], moved.marks.includes(160)]).toEqual([[160], true]);
    const gone = apply(review, done(edits.deleteMark(after, s(150))));
    expect([...gone.notSinus]).toEqual([]);
    expect(apply(gone, invert(done(edits.deleteMark(after, s(150)))))).toEqual(review);
    expect(refused(edits.toggleNotSinus(e, s(151)))).toBe('There is no mark at that place.');
    expect(refused(edits.toggleNotSinus(editing(item, { signOffs: signed }), s(150)))).toContain('rest is signed off');
  });

  test('marks accepted one after the other share one span, whatever the order', () => {
    for (const order of [
      [50, 150, 250, 350],
      [350, 50, 250, 150],
    ]) {
      let e = editing(item);
      for (const m of order) e = { ...e, review: apply(e.review, done(edits.acceptMark(e, s(m)))) };
      expect(e.review.accepted).toEqual([span(50, 351)]);
    }
  });

  test('a mark that leaps over an unaccepted neighbour does not accept it', () => {
    const e = editing(item, { accepted: [span(50, 51)] });
    const review = apply(e.review, done(edits.moveMark(e, s(150), s(260))));
    expect(review.accepted).toEqual([span(50, 51), span(260, 261)]);
    const near = apply(e.review, done(edits.moveMark(e, s(250), s(140))));
    expect(near.accepted).toEqual([span(50, 141)]);
  });

  test('accepting a page is clipped to the recording and leaves signed-off segments alone', () => {
    expect(done(edits.acceptSpan(editing(item), span(900, 1200)))).toEqual([
      { op: 'accepted', removed: [], added: [span(900, 1000)] },
    ]);
    const e = editing(item, { signOffs: signed });
    expect(done(edits.acceptSpan(e, span(400, 600)))).toEqual([
      { op: 'accepted', removed: [], added: [span(500, 600)] },
    ]);
    expect(refused(edits.acceptSpan(e, span(100, 200)))).toContain('rest is signed off');
    expect(refused(edits.acceptSpan(e, span(2000, 2100)))).toBe('That place is outside the recording.');
    expect(edits.acceptSpan(editing(item, { accepted: [span(0, 1000)] }), span(0, 100))).toBeNull();
  });
});

describe('unreadable spans', () => {
  test('added ones merge, cut ones split, and nothing new is nothing', () => {
    const e = editing(item, { unreadable: [span(100, 200), span(300, 400)] });
    const spansOf = (built: edits.Built) => apply(e.review, done(built)).unreadable;
    expect(spansOf(edits.addUnreadable(e, span(200, 300)))).toEqual([span(100, 400)]);
    expect(spansOf(edits.addUnreadable(e, span(950, 1200)))).toEqual([span(100, 200), span(300, 400), span(950, 1000)]);
    expect(spansOf(edits.removeUnreadable(e, span(120, 320)))).toEqual([span(100, 120), span(320, 400)]);
    expect(edits.addUnreadable(e, span(110, 190))).toBeNull();
    expect(edits.removeUnreadable(e, span(200, 300))).toBeNull();
    expect(edits.addUnreadable(e, span(500, 500))).toBeNull();
    expect(refused(edits.addUnreadable(e, span(1000, 1100)))).toBe('That place is outside the recording.');
  });
});

describe('remarks', () => {
  const comment = { id: 'n1', kind: 'comment', start: s(120), end: s(180), text: ' odd shape ' } as const;

  test('are added, changed and taken away; a comment needs words', () => {
    const e = editing(item);
    expect(edits.nextNoteId(e.review)).toBe('n1');
    const one = { ...e, review: apply(e.review, done(edits.addNote(e, comment))) };
    expect(one.review.notes).toEqual([{ ...comment, text: 'odd shape' }]);
    expect(edits.nextNoteId(one.review)).toBe('n2');
    expect(edits.editNote(one, 'n1', 'odd shape')).toBeNull();
    expect(apply(one.review, done(edits.editNote(one, 'n1', 'step in baseline'))).notes[0]!.text).toBe(
      'step in baseline',
    );
    expect(refused(edits.editNote(one, 'n1', '  '))).toBe('A comment needs some words.');
    expect(apply(one.review, done(edits.removeNote(one, 'n1'))).notes).toEqual([]);
    expect(refused(edits.removeNote(one, 'n7'))).toBe('That remark is not there any more.');
    expect(refused(edits.addNote(one, comment))).toContain('already');
    expect(done(edits.addNote(one, { ...comment, id: 'n2', kind: 'flag', text: '' }))).toHaveLength(1);
  });

  test('a suspicion is dismissed once', () => {
    const e = editing(item);
    const change = done(edits.dismiss(e, 'long interval', s(250)));
    expect(edits.dismiss({ ...e, review: apply(e.review, change) }, 'long interval', s(250))).toBeNull();
  });
});

describe('looking', () => {
  test('adds what is new and open, and never refuses', () => {
    const e = editing(item, { seen: [span(0, 100)], signOffs: signed });
    expect(edits.look(e, span(480, 620))).toEqual([{ op: 'seen', removed: [], added: [span(500, 620)] }]);
    expect(edits.look(e, span(100, 200))).toBeNull();
    expect(edits.look({ ...e, finished: true }, span(480, 620))).toBeNull();
  });
});

describe('signing off', () => {
  const at = '2026-02-15T10:00:00Z';

  test('needs cover or a reason', () => {
    const e = editing(item);
    expect(refused(edits.signOff(e, 'rest', at, null))).toBe(
      'rest is not fully looked at (5.0 s not seen and 4 marks not looked at): look at the rest or give a reason.',
    );
    expect(refused(edits.signOff(e, 'rest', at, '  '))).toContain('give a reason');
    expect(refused(edits.signOff(e, 'sled haul', at, 'x'))).toBe('This recording has no segment sled haul.');
    expect(done(edits.signOff(e, 'rest', at, ' strap slipped '))).toEqual([
      { op: 'signOff', before: null, after: { segment: 'rest', at, reason: 'strap slipped' } },
    ]);
    const covered = editing(item, { seen: [span(0, 500)], accepted: [span(0, 500)] });
    expect(done(edits.signOff(covered, 'rest', at, null))).toHaveLength(1);
    expect(edits.signOff(editing(item, { signOffs: signed }), 'rest', at, 'again')).toBeNull();
  });

  test('freezes the segment until it is reopened with a reason', () => {
    const e = editing(item, { signOffs: signed });
    const frozen = 'rest is signed off: reopen it to change anything there.';
    const flag = { id: 'n1', kind: 'flag', start: s(10), end: s(10), text: '' } as const;
    for (const built of [
      edits.acceptMark(e, s(150)),
      edits.moveMark(e, s(550), s(450)),
      edits.deleteMark(e, s(150)),
      edits.insertMark(e, s(499)),
      edits.addUnreadable(e, span(490, 510)),
      edits.addNote(e, flag),
      edits.dismiss(e, 'short interval', s(0)),
    ]) {
      expect(refused(built)).toBe(frozen);
    }
    expect(done(edits.insertMark(e, s(500)))).toHaveLength(2);
    // On an apex near the place asked for: refused whichever of the two is signed off, as a move is.
    expect(refused(edits.insertMark(e, s(505), s(499)))).toBe(frozen);
    expect(refused(edits.insertMark(e, s(495), s(500)))).toBe(frozen);
    expect(done(edits.insertMark(e, s(505), s(500)))).toHaveLength(2);
    expect(refused(edits.reopen(e, 'rest', ' '))).toBe('Reopening a segment needs a reason.');
    expect(refused(edits.reopen(e, 'approach hike', 'x'))).toBe('approach hike is not signed off.');
    expect(apply(e.review, done(edits.reopen(e, 'rest', 'second look'))).signOffs).toEqual([]);
  });

  test('an older act that undo would take back is refused once its segment is signed off', () => {
    const e = editing(item);
    const inRest = done(edits.moveMark(e, s(150), s(160)));
    const first = done(edits.acceptMark(editing(item, { accepted: [span(350, 351)] }), s(550)));
    expect(first).toEqual([{ op: 'accepted', removed: [span(350, 351)], added: [span(350, 551)] }]);
    const now = { ...e, review: { ...apply(e.review, inRest), accepted: [span(350, 551)], signOffs: signed } };
    expect(edits.refuseChange(now, invert(inRest))?.refused).toContain('rest is signed off');
    expect(edits.refuseChange(now, invert(first))).toBeNull();
    expect(edits.refuseChange({ ...now, finished: true }, invert(first))?.refused).toContain('finished');
  });

  test('a finished review takes no act', () => {
    const e = editing(item, { signOffs: signed }, true);
    for (const built of [
      edits.acceptSpan(e, span(0, 10)),
      edits.insertMark(e, s(700)),
      edits.removeUnreadable(e, span(0, 10)),
      edits.signOff(e, 'approach hike', at, 'x'),
      edits.reopen(e, 'rest', 'x'),
    ]) {
      expect(refused(built)).toBe('This review is finished: reopen it to change anything.');
    }
  });

  test('what is set up by hand is not touched by building', () => {
    const e = editing(item);
    edits.insertMark(e, s(20));
    expect(e.review.marks).toEqual(marksFrom([50, 150, 250, 350, 550, 650]));
  });
});
