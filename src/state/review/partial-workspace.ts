import type { StoreApi } from 'zustand/vanilla';
import { newLog } from '../../core/marks/log';
import { marksFrom } from '../../core/marks/markset';
import { defaultMatchSettings } from '../../core/marks/match';
import type { Lead, Recording } from '../../core/recording/recording';
import { logHeader, type Session } from '../../core/review/session';
import type { StoredLead } from '../../storage/stored-lead';
import type { ImportProgress, ReadyLead } from '../../workers/read-into-store';
import type { ImportRow } from '../import/row';
import type { HasLibrary } from '../library';
import type { Prefs } from '../stores/prefs-store';
import { createViewStore } from '../stores/view-store';
import { createOccurrences } from './occurrences';
import { restoreView, saveView } from './opening';
import { createReviewStore } from './review-store';
import { createSignals, type LeadSource } from './signals';
import { noSuspicions } from './suspicions';
import { openGate, type ReviewWorkspace, scoresOf } from './workspace';

/** A recording that can be looked at while it is still being read. */
export interface PartialReading {
  /** As far as the file's header tells it; without marks. */
  readonly session: Session;
  readonly ready: readonly ReadyLead[];
  readonly share: number;
  /** Null until the last sample is stored. */
  readonly whole: Recording | null;
}

interface Source {
  readonly row: ImportRow;
  readonly recording: string;
  readonly session: string;
  readonly title: string;
}

/** What can be shown by now; null as long as not every lead has samples. */
export function partialReadingOf(
  before: PartialReading | null,
  source: Source,
  progress: ImportProgress,
): PartialReading | null {
  const leads = source.row.looked?.leads ?? [];
  const share = progress.totalBytes > 0 ? progress.doneBytes / progress.totalBytes : 0;
  const usable = progress.ready?.length === leads.length && progress.ready.every(r => r.sampleCount > 0);
  const ready = usable ? progress.ready! : before?.ready;
  if (!ready || leads.length === 0) return null;
  return { session: before?.session ?? sessionFrom(source, leads), ready, share, whole: before?.whole ?? null };
}

function sessionFrom({ row, recording, session, title }: Source, leads: readonly Lead[]): Session {
  const reference = leads.reduce((a, b) => (b.samplingRateHz > a.samplingRateHz ? b : a));
  const { samplingRateHz, sampleCount } = reference;
  return {
    id: session,
    title,
    participant: '',
    settings: defaultMatchSettings,
    recordings: [
      {
        recording: {
          id: recording,
          recorder: row.recorder,
          samplingRateHz,
          sampleCount,
          startedAt: row.looked?.startedAt ?? null,
          leads,
          gaps: [],
          source: row.file.name,
        },
        detected: marksFrom([]),
        detectedBy: '',
        segments: [],
      },
    ],
  };
}

const why = (share: number) => `still being read: ${Math.floor(share * 100)} %`;

/** What a recording that is still being read needs of the page. */
interface ReadingAlong extends HasLibrary {
  readonly prefs: { getState(): Pick<Prefs, 'pxPerMm' | 'rater'> };
  readonly importing: { readonly store: Pick<StoreApi<{ readonly reading: PartialReading | null }>, 'subscribe'> };
  now(): Date;
}

/** A workspace over what has been read so far, growing; nothing can be written on it. */
export async function openPartialWorkspace(app: ReadingAlong, reading: PartialReading): Promise<ReviewWorkspace> {
  const { session } = reading;
  const { recording } = session.recordings[0]!;
  const { rater } = app.prefs.getState();
  const review = createReviewStore(
    {
      session,
      log: newLog(logHeader(session, rater)),
      others: [],
      access: { writable: false, why: why(reading.share) },
    },
    async () => undefined,
    app.now,
  );
  const store = await app.library.signals();
  const signals = createSignals([recording]);
  const stored: StoredLead[] = [];
  const show = (ready: readonly ReadyLead[]) => {
    const sources = ready.map(({ pyramid, ...written }, i): LeadSource => {
      const shape = { ...recording.leads[i]!, ...written };
      stored[i] ??= store.lead({ session: session.id, recording: recording.id, lead: i }, shape);
      stored[i].grow(written);
      return { lead: shape, samples: stored[i], pyramid };
    });
    signals.replace(recording.id, sources);
  };
  const showWhole = async (whole: Recording) => {
    const item = { ...session.recordings[0]!, recording: whole };
    const { sources } = await app.library.leads({ ...session, recordings: [item] });
    signals.replace(whole.id, sources.get(whole.id) ?? []);
  };
  show(reading.ready);
  const stopFollowing = app.importing.store.subscribe((now, before) => {
    if (!now.reading || now.reading === before.reading) return;
    if (now.reading.ready !== before.reading?.ready) show(now.reading.ready);
    review.setAccess({ writable: false, why: now.reading.whole ? 'read, not yet saved' : why(now.reading.share) });
    if (now.reading.whole) void showWhole(now.reading.whole);
  });
  const view = createViewStore();
  await restoreView(app, session, rater, view);
  const stopKeeping = saveView(app, session, rater, view);
  return {
    review,
    view,
    signals,
    // Without marks there is nothing to rank.
    suspicions: noSuspicions(false),
    occurrences: createOccurrences(),
    purpose: 'reading',
    gate: openGate,
    scoreOf: scoresOf(review),
    async close() {
      stopFollowing();
      stopKeeping();
    },
  };
}
