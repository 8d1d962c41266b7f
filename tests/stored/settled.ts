import { replay } from '../../src/core/marks/log';
import { beatsRatersMarked } from '../../src/core/report/non-sinus';
import { sessionScores } from '../../src/core/report/session-scores';
import { evidenceIn } from '../../src/core/review/places/evidence';
import { compareRaters } from '../../src/core/review/raters/compare';
import { settlementOf } from '../../src/core/review/raters/settle';
import { settledLogs } from '../../src/core/review/raters/settled-logs';
import { outcomeOf, planOf, spotCheckStretches } from '../../src/core/review/raters/spot-check';
import { detectedOf } from '../../src/core/review/session';
import { span } from '../../src/core/units';
import { readBundle } from '../../src/formats/bundle/reader';
import type { ByteSource } from '../../src/formats/bytes/source';

const countNames = ['judged', 'right', 'lost', 'missed', 'wrongPeak', 'extra', 'refined'] as const;

/** What the logs of a settled session come to, as plain JSON: what `bundle-1-settled.json` holds. */
export async function settledFacts(source: ByteSource): Promise<unknown> {
  const { reviewed } = await readBundle(source);
  const { session, logs } = reviewed;
  const detected = detectedOf(session);
  const rateOf = (id: string) => session.recordings.find(r => r.recording.id === id)!.recording.samplingRateHz;
  const settled = logs.find(l => l.header.role === 'adjudicator')!;
  const final = replay(settled, detected);
  const named = settledLogs(settled, logs)!;
  const [a, b] = [replay(named.a, detected), replay(named.b, detected)];
  const plan = planOf(final)!;
  const comparisons = session.recordings.map(item => {
    const { id } = item.recording;
    const reviews = { a: a.recordings.get(id)!, b: b.recordings.get(id)! };
    return [id, compareRaters({ item, ...reviews, settings: session.settings })] as const;
  });
  const facts = {
    plan,
    settles: [named.a, named.b].map(l => [l.header.rater, l.entries.length, l.entries.at(-1)!.hash]),
    logs: logs.map(log => {
      const state = replay(log, detected);
      return {
        rater: log.header.rater,
        entries: log.entries.length,
        undoable: state.undoable?.seq ?? null,
        recordings: Object.fromEntries(
          [...state.recordings].map(([id, r]) => [
            id,
            {
              marks: [...r.marks].join(' '),
              unreadable: r.unreadable,
              remarks: r.notes.length,
              evidence: evidenceIn(r, span(0, 1e6)),
              notSinus: beatsRatersMarked(r, rateOf(id)),
              setAside: r.dismissals.length,
            },
          ]),
        ),
      };
    }),
    settlements: comparisons.map(([id, c]) => [
      id,
      c.disagreements.map(d => settlementOf(final.recordings.get(id)!, d)),
    ]),
    checks: comparisons.map(([id, c]) => [
      id,
      spotCheckStretches(c, plan).map(s => [s.start, outcomeOf(final.recordings.get(id)!, s)]),
    ]),
    scores: sessionScores(reviewed).map(x => [
      x.rater,
      x.recordingId,
      ...x.score.segments.map(g => [g.segment.name, countNames.map(name => g.counts[name])]),
    ]),
  };
  return JSON.parse(JSON.stringify(facts));
}
