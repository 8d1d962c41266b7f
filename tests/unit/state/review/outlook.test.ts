import { expect, test } from 'vitest';
import type { QueueItem } from '../../../../src/core/review/places/queue';
import type { SampleIndex } from '../../../../src/core/units';
import { active, outlook, type ReviewWorkspace } from '../../../../src/state/review/workspace';
import { openWorkspace } from '../../commands/workspace';

/** Extra marks, each a mistake with the given chance. */
const items = (...places: [at: number, score: number][]) =>
  places.map(([at, score]) => {
    const known = { score, group: 'odd', spread: 1, reason: 'odd' };
    return { id: `${at}`, at, mark: at, candidates: [], leads: [at], ...known } as never;
  }) as QueueItem[];

// The first segment is samples 0 to 2999, the second 3000 to 5999.
const open = () => openWorkspace({ 'chest-band': items([200, 1], [300, 1], [4000, 1]) }).workspace;

const signOff = (workspace: ReviewWorkspace, segment: string) => {
  const change = [
    { op: 'signOff', before: null, after: { segment, at: '2026-10-01T08:00:00Z', reason: null } },
  ] as never;
  expect(workspace.review.act({ recording: 'chest-band', intent: 'sign off', change })).toBe(true);
};
const at = (workspace: ReviewWorkspace, caret: number) => {
  workspace.view.setState({ caret: caret as SampleIndex });
  return outlook(workspace);
};
/** The number as it is shown: marks that were not looked at add a little. */
const shown = (workspace: ReviewWorkspace, caret: number) => {
  const { part, expected } = at(workspace, caret)!;
  return [part, Math.round(expected)];
};

test('mistakes left are counted for the segment of the caret', () => {
  const workspace = open();
  expect(shown(workspace, 100)).toEqual(['seated radio watch', 2]);
  expect(shown(workspace, 3100)).toEqual(['uphill run', 1]);
});

test('nothing is said of a segment that is signed off', () => {
  const workspace = open();
  signOff(workspace, 'seated radio watch');
  expect(active(workspace).review.signOffs.map(s => s.segment)).toEqual(['seated radio watch']);
  expect(at(workspace, 100)).toBeNull();
  expect(shown(workspace, 3100)).toEqual(['uphill run', 1]);
});

test('it is not said that none is left where something was not looked at, and nothing where all was', () => {
  const { workspace } = openWorkspace({ 'chest-band': [] });
  const said = at(workspace, 100)!;
  expect(said).toMatchObject({ part: 'seated radio watch', low: 0 });
  expect(said.high).toBeGreaterThan(0);
  const accepted = [{ op: 'accepted', removed: [], added: [{ start: 0, end: 3000 }] }] as never;
  expect(workspace.review.act({ recording: 'chest-band', intent: 'accept', change: accepted })).toBe(true);
  expect(at(workspace, 100)).toBeNull();
  expect(at(workspace, 3100)).not.toBeNull();
});

test('outside all segments the number is of what is not signed off', () => {
  const workspace = open();
  const { session } = workspace.review.get();
  const [band, logger] = session.recordings;
  const shorter = band!.segments.map(s => ({ ...s, end: (s.end - 1000) as SampleIndex }));
  workspace.review.setSession({ ...session, recordings: [{ ...band!, segments: shorter }, logger!] });
  expect(shown(workspace, 2500)).toEqual(['this recording', 3]);
  signOff(workspace, 'seated radio watch');
  expect(shown(workspace, 2500)).toEqual(['what is not signed off', 1]);
});
