import { describe, expect, test } from 'vitest';
import {
  allSessions,
  chosenSessions,
  groupsByStudy,
  reviewState,
  type SessionProgress,
} from '../../../../src/state/sessions/listing';
import type { CatalogueEntry } from '../../../../src/storage/sessions';

const entry = (id: string, title: string, part: Partial<CatalogueEntry> = {}): CatalogueEntry => ({
  id,
  title,
  participant: id.toUpperCase(),
  recorders: ['chest band'],
  durationSeconds: 1500,
  markCount: 2000,
  segmentNames: ['uphill run'],
  savedAt: '2026-10-01T08:00:00Z',
  ...part,
});

const own = (part: Partial<NonNullable<SessionProgress['own']>>): SessionProgress => ({
  own: { entries: 3, lookedAtShare: 0.5, signedOffSegments: 0, segments: 2, finished: false, ...part },
  others: [],
});

const sessions = [
  entry('v02', 'V02, training day', { savedAt: '2026-10-03T08:00:00Z' }),
  entry('v10', 'V10, training day', { durationSeconds: 90, recorders: ['adhesive logger'] }),
  entry('v01', 'V01, training day', { savedAt: '2026-10-02T08:00:00Z' }),
];
const known = new Map<string, SessionProgress>([
  ['v02', own({})],
  ['v10', { own: null, others: ['R2'] }],
  ['v01', own({ finished: true, signedOffSegments: 2, lookedAtShare: 1 })],
]);
const studies = [{ title: 'Winter', sessions: ['v10', 'v01'] }];
const ids = (choice: Partial<typeof allSessions>) =>
  chosenSessions(sessions, known, studies, { ...allSessions, ...choice }).map(s => s.id);

describe('the list of sessions', () => {
  test('is searched by every word, in titles, volunteers, recorders, segments and studies', () => {
    expect(ids({ text: 'V10' })).toEqual(['v10']);
    expect(ids({ text: 'logger TRAINING' })).toEqual(['v10']);
    expect(ids({ text: 'winter band' })).toEqual(['v01']);
    expect(ids({ text: 'uphill' })).toHaveLength(3);
    expect(ids({ text: 'nowhere' })).toEqual([]);
  });

  test('is filtered by how far the own review is', () => {
    expect(ids({ state: 'not begun' })).toEqual(['v10']);
    expect(ids({ state: 'begun' })).toEqual(['v02']);
    expect(ids({ state: 'finished' })).toEqual(['v01']);
    expect(reviewState(own({ signedOffSegments: 2 }))).toBe('signed off');
    // What was not read yet is in no state.
    expect(chosenSessions(sessions, new Map(), [], { ...allSessions, state: 'not begun' })).toEqual([]);
  });

  test('comes in the order asked for', () => {
    expect(ids({})).toEqual(['v02', 'v01', 'v10']);
    expect(ids({ order: 'title' })).toEqual(['v01', 'v02', 'v10']);
    expect(ids({ order: 'length' })).toEqual(['v01', 'v02', 'v10']);
    expect(ids({ order: 'least looked at' })).toEqual(['v10', 'v02', 'v01']);
  });

  test('is grouped by study, those in none last', () => {
    expect(groupsByStudy(sessions, studies).map(g => [g.study, g.sessions.map(s => s.id)])).toEqual([
      ['Winter', ['v10', 'v01']],
      [null, ['v02']],
    ]);
    expect(groupsByStudy([], studies)).toEqual([]);
  });
});
