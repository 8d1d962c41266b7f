import { type EditLog, replay } from '../../marks/log';
import { detectedOf, type Session, type SharedSample } from '../session';
import { segmentsOfPlan } from '../standing/sampled';

/**
 * The session with the samples of a rater's review for the others: which stretches, in which order, and once the review is
 * finished how many; nothing of what was found. What is shared already stays, so that all review the same. The very same
 * session when there is nothing to add.
 */
export function withSharedSamples(session: Session, log: EditLog): Session {
  if (log.header.role !== 'rater') return session;
  const { recordings, finished } = replay(log, detectedOf(session));
  const before = session.samples ?? [];
  const after = [...before];
  for (const item of session.recordings) {
    const { samplePlans, sampled } = recordings.get(item.recording.id)!;
    for (const plan of samplePlans) {
      const within = segmentsOfPlan(item, plan);
      const inPlan = (start: number) => within.some(s => s.start <= start && start < s.end);
      const drawn = sampled.filter(e => e.drawn && e.outcome === 'reviewed' && inPlan(e.start)).length;
      const own = { recording: item.recording.id, plan, drawn: finished && drawn > 0 ? drawn : null };
      const i = after.findIndex(s => isSame(s, own));
      if (i < 0) after.push(own);
      else if (after[i]!.drawn === null && after[i]!.plan.seed === plan.seed)
        after[i] = { ...after[i]!, drawn: own.drawn };
    }
  }
  const grown = after.some((s, i) => s !== before[i] && s.drawn !== before[i]?.drawn) || after.length > before.length;
  return grown ? { ...session, samples: after } : session;
}

function isSame(a: SharedSample, b: SharedSample): boolean {
  return a.recording === b.recording && a.plan.segment === b.plan.segment;
}

/** Samples of another copy of the session that this one has none of. */
export function joinedSamples(here: Session, incoming: Session): Session {
  const before = here.samples ?? [];
  const added = (incoming.samples ?? []).filter(s => !before.some(b => isSame(b, s)));
  return added.length > 0 ? { ...here, samples: [...before, ...added] } : here;
}
