import { append, canonicalJson, draftOf, type EditLog, newLog } from '../../marks/log';

/**
 * A review done under a wrong code, put under the right one before it is signed off. Its entries stay as they are and in
 * their order; the chain is made anew, as it begins with the code, and ends in an entry that says so.
 */
export function reassigned(log: EditLog, to: string, at: string): EditLog {
  const { rater: from } = log.header;
  const moved = log.entries.reduce((out, e) => append(out, draftOf(e)).log, newLog({ ...log.header, rater: to }));
  const fact = { kind: 'reassigned', from, to } as const;
  return append(moved, { at, recording: '', intent: 'reassign', change: [], fact }).log;
}

/** Why a review stays under its code, whatever the other one is; null when it may go to another. */
export function whyNotReassign({ header, entries }: EditLog): string | null {
  if (header.role !== 'rater') return 'Only the review of a rater can be reassigned.';
  if (entries.some(e => e.intent === 'finish'))
    return `This review was signed off by ${header.rater}: it can no longer be reassigned.`;
  return null;
}

/** Codes that a review was under before, in the order they were left; empty for nearly all. */
export function codesBefore({ header, entries }: EditLog): readonly string[] {
  const left = entries.flatMap(e => (e.fact?.kind === 'reassigned' ? [e.fact.from] : []));
  return [...new Set(left)].filter(code => code !== header.rater);
}

/** Whether `copy` says nothing but what `log` says, from before it was reassigned away from the copy's code. */
export function isCopyOfReassigned(copy: EditLog, log: EditLog): boolean {
  const moved = log.entries.findIndex(e => e.fact?.kind === 'reassigned' && e.fact.from === copy.header.rater);
  if (moved < copy.entries.length || copy.entries.length === 0 || copy.header.session !== log.header.session)
    return false;
  return copy.entries.every((entry, i) => canonicalJson(draftOf(entry)) === canonicalJson(draftOf(log.entries[i]!)));
}
