import { append, type EditLog, newLog } from '../../../src/core/marks/log';
import { startAdjudication } from '../../../src/core/review/raters/settle';
import { logHeader, type Session } from '../../../src/core/review/session';
import type { SampleIndex } from '../../../src/core/units';
import { type ComparisonWorkspace, createComparing } from '../../../src/state/compare/comparing';
import { openWorkspace } from './workspace';

const at = '2026-02-20T09:00:00.000Z';

/** R1 keeps everything; R2 takes out so many marks of the chest band: as many differences. */
function twoReviews(session: Session, differences: number): [EditLog, EditLog] {
  const { detected } = session.recordings[0]!;
  const removed = (i: number): SampleIndex[] => [detected[5 * i + 2]! as SampleIndex];
  let r2 = newLog(logHeader(session, 'R2'));
  for (let i = 0; i < differences; i++) {
    const change = [{ op: 'marks', removed: removed(i), added: [] }] as const;
    r2 = append(r2, { at, recording: 'chest-band', intent: 'delete', change }).log;
  }
  const finish = { at, recording: '', intent: 'finish', change: [] } as const;
  return [append(newLog(logHeader(session, 'R1')), finish).log, append(r2, finish).log];
}

/** A supervisor's workspace in which settling has begun. */
export function openComparison(differences = 4): ComparisonWorkspace {
  const { session } = openWorkspace();
  const viewer = { rater: 'S1', role: 'adjudicator' } as const;
  const others = twoReviews(session, differences);
  const before = openWorkspace({}, { log: newLog(logHeader(session, 'S1', 'adjudicator')), others }).workspace;
  const comparing = createComparing(before.review, viewer);
  const comparisons = new Map(session.recordings.map(r => [r.recording.id, comparing.comparisonOf(r.recording.id)!]));
  const [logA, logB] = others;
  const log = startAdjudication({ session, logA, logB, comparisons }, 'S1', at);
  const { workspace } = openWorkspace({}, { log, others });
  const begun = createComparing(workspace.review, viewer);
  return { ...workspace, purpose: 'settle', comparing: begun, gate: { admit: begun.admit, origin: 'new' } };
}
