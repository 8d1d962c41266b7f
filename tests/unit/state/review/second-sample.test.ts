import { describe, expect, test, vi } from 'vitest';
import { acceptStretches, goOnWithSample, startSample } from '../../../../src/commands/sampling';
import { joinedSamples, withSharedSamples } from '../../../../src/core/review/raters/shared-samples';
import type { Session } from '../../../../src/core/review/session';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { expectedDraws, followSamples, sampledOf, sharedSample } from '../../../../src/state/review/sampling';
import { createStatus, openWorkspace } from '../../commands/workspace';
import { madeSession } from '../../formats/bundle/reviewed';

// Two raters, one sample: the second gets the order and the number of the first, and nothing else of that review.

const choice = { segment: null, halfWidth: 0.01 } as const;
const id = 'chest-band';

function rater(code: string, session?: Session, analysed = true) {
  const { log } = openWorkspace().workspace.review.get();
  const start = { ...(session ? { session } : {}), log: { ...log, header: { ...log.header, rater: code } } };
  const opened = openWorkspace({}, start);
  const none = { second: new Int32Array(0), suspected: [] };
  const suspicions = { ...opened.workspace.suspicions, analysed: () => (analysed ? none : null) };
  const workspace = { ...opened.workspace, suspicions };
  const saveSession = vi.fn((_session: Session) => undefined);
  const changeSession = async (from: Session, change: (session: Session) => Session) => {
    const changed = change(from);
    saveSession(changed);
    return changed;
  };
  const app = { ...createStatus(), library: { changeSession } };
  const stop = followSamples(app as never, workspace.review);
  const take = (n: number) =>
    Array.from({ length: n }, () => {
      const { start: at } = workspace.view.getState().sampling!.rows[0]!.stretch;
      expect(acceptStretches(workspace, app)).toBe(true);
      return at;
    });
  const finish = () => workspace.review.act({ recording: '', intent: 'finish', change: [] });
  return { workspace, app, saveSession, stop, take, finish, session: () => workspace.review.get().session };
}

function firstRater() {
  const first = rater('R1');
  startSample(first.workspace, first.app, choice);
  return first;
}

describe('a second rater', () => {
  test('gets the same stretches in the same order, and as many, without the first one’s log', () => {
    const first = firstRater();
    expect(first.session().samples).toMatchObject([{ recording: id, drawn: null }]);
    const starts = first.take(4);
    first.finish();
    expect(first.session().samples).toMatchObject([{ recording: id, drawn: 4 }]);
    expect(first.saveSession).toHaveBeenLastCalledWith(first.session());

    const second = rater('R2', first.session(), false);
    expect(second.workspace.review.get().others).toEqual([]);
    expect(expectedDraws(second.workspace, choice)).toMatchObject({ draws: 4, problem: null });
    expect(startSample(second.workspace, second.app, choice)).toBe(true);
    expect(second.take(4)).toEqual(starts);
    expect(sharedSample(second.workspace, null)!.drawn).toBe(4);
    second.take(1);
    second.finish();
    // What the first one's review settled stays.
    expect(second.session().samples).toEqual(first.session().samples);
    const [own] = sampledOf(second.workspace, id);
    expect(own!.laidOut.plan.seed).toBe(sampledOf(first.workspace, id)[0]!.laidOut.plan.seed);
  });

  test('begins while the first still rates, and gets the number once there is one', () => {
    const first = firstRater();
    const second = rater('R2', first.session());
    startSample(second.workspace, second.app, choice);
    const starts = second.take(3);
    expect(sharedSample(second.workspace, null)!.drawn).toBeNull();
    expect(first.take(3)).toEqual(starts);
    first.finish();
    expect(joinedSamples(first.session(), second.session())).toBe(first.session());
  });

  test('finds them in the bundle for a blind rater, which holds no log', async () => {
    const first = firstRater();
    first.take(2);
    first.finish();
    const made = madeSession(['R1']);
    const bytes = writeBundle({ session: first.session(), logs: [] }, made.leads);
    const { reviewed, warnings } = await readBundle(bytesSource('blind.zip', bytes));
    expect(warnings).toEqual([]);
    expect(reviewed.logs).toEqual([]);
    expect(reviewed.session.samples).toEqual(first.session().samples);
    expect(joinedSamples(made.reviewed.session, reviewed.session).samples).toEqual(first.session().samples);
  });

  test('plans one of their own where the segments were changed since', () => {
    const first = firstRater();
    const recordings = first.session().recordings.map(r => ({ ...r, segments: r.segments.slice(0, 1) }));
    const second = rater('R2', { ...first.session(), recordings });
    expect(sharedSample(second.workspace, null)).toBeNull();
    expect(startSample(second.workspace, second.app, choice)).toBe(true);
    expect(goOnWithSample(second.workspace, second.app)).toBe(true);
  });
});

test('only raters share samples, and a session without one stays the very same', () => {
  const { workspace, session } = firstRater();
  const { log } = workspace.review.get();
  const plain = madeSession(['R1']).reviewed.session;
  expect(withSharedSamples(plain, { ...log, header: { ...log.header, role: 'learner' } })).toBe(plain);
  expect(withSharedSamples(plain, { ...log, entries: [] })).toBe(plain);
  expect(withSharedSamples(session(), log)).toBe(session());
});
