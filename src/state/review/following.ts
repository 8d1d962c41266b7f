import type { Intent } from '../../core/marks/log';
import { ecgLeadOf } from '../../core/recording/ecg-lead';
import type { Session } from '../../core/review/session';
import type { HasLibrary } from '../library';
import type { ArrivingSignals } from './arriving';
import type { Signals, StoredLeads } from './signals';
import { active, type Gate, pageSpans, type ReviewWorkspace } from './workspace';

interface Following extends HasLibrary {
  readonly arriving: ArrivingSignals;
}

/** A review whose signals are on their way: shows them in part now, and from the store once they are there. */
export interface Followed {
  readonly stored: Promise<void>;
  stop(): void;
}

export function followArriving(
  { arriving, library }: Following,
  session: Session,
  leads: ReadonlyMap<string, StoredLeads>,
  signals: Signals,
): Followed {
  for (const [id, sources] of leads) signals.replace(id, sources);
  let stop: () => void = () => undefined;
  const stored = new Promise<void>(resolve => {
    stop = arriving.whenStored(session.id, () => {
      void library.leads(session).then(({ sources }) => {
        for (const [id, own] of sources) signals.replace(id, own);
        resolve();
      });
    });
  });
  return { stored, stop };
}

/** Whether the words of the ECG of the page that is shown are in memory; asks for them where they are not. */
export function pageIsHere(workspace: ReviewWorkspace): boolean {
  const { item, rateHz } = active(workspace);
  const { id, leads } = item.recording;
  const index = ecgLeadOf(item.recording);
  const lead = leads[index];
  if (!lead) return false;
  const scale = lead.samplingRateHz / rateHz;
  return pageSpans(workspace).every(({ start, end }) => {
    const to = Math.min(lead.sampleCount, Math.ceil(end * scale));
    return workspace.signals.peek(id, index, Math.min(to, Math.floor(start * scale)), to) !== null;
  });
}

/** What says something about the signal on the screen. */
const judgements: ReadonlySet<Intent> = new Set<Intent>([
  'accept',
  'move',
  'delete',
  'insert',
  'unreadable',
  'readable',
  'not sinus',
  'dismiss',
  'sample',
  'settle',
]);

/** Nothing is said about a signal that is not on the screen yet. */
export function gateWhileArriving(onScreen: () => boolean): Gate {
  return {
    admit: (_recordingId, intent, change) =>
      judgements.has(intent) && !onScreen()
        ? { refused: 'The signal of this page has not arrived yet: wait until it is shown.' }
        : change,
  };
}
