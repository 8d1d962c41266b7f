import type { CatalogueEntry } from '../../storage/sessions';
import type { ImportedRecorder } from './row';

type Stored = Pick<CatalogueEntry, 'id' | 'title' | 'participant' | 'signals'>;

/** Signals that are stored under another session, or come twice among those just read, in words. */
export function sameSignals(
  recorders: readonly Pick<ImportedRecorder, 'opened' | 'lead'>[],
  stored: readonly Stored[],
): readonly string[] {
  const notes: string[] = [];
  for (const [i, { opened, lead }] of recorders.entries()) {
    if (lead.signalSha256 === '') continue;
    const { recorder } = opened.recording;
    const twin = recorders.slice(0, i).find(r => r.lead.signalSha256 === lead.signalSha256);
    if (twin) notes.push(`${twin.opened.recording.recorder} and ${recorder} have the same signal.`);
    const known = stored.find(s => s.signals?.includes(lead.signalSha256));
    if (known) notes.push(`The signal of ${recorder} is stored already: ${nameOf(known)}.`);
  }
  return notes;
}

const nameOf = ({ title, participant }: Stored) => (participant === '' ? title : `${title} (${participant})`);
