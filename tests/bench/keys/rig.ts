import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { CommandContext, ReviewCommand } from '../../../src/commands/command';
import { commandFor } from '../../../src/commands/keymap';
import { allCommands } from '../../../src/commands/scenes';
import { detectBeats } from '../../../src/core/detector/detect';
import { signalFeatures } from '../../../src/core/detector/suspicion/features';
import type { RecordingReview } from '../../../src/core/marks/edit';
import { newLog } from '../../../src/core/marks/log';
import { createRanking, leadAnalysis } from '../../../src/core/review/places/ranking';
import { logHeader } from '../../../src/core/review/session';
import { readBundle } from '../../../src/formats/bundle/reader';
import { memorySink } from '../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../src/formats/bytes/source';
import { createClocks } from '../../../src/state/clocks/clocks';
import { memoryLead } from '../../../src/state/review/memory-leads';
import { createOccurrences } from '../../../src/state/review/occurrences';
import { createReviewStore, type ReviewState, reviewOf } from '../../../src/state/review/review-store';
import { createSignals } from '../../../src/state/review/signals';
import { noSuspicions, type QueueItem, type Suspicions } from '../../../src/state/review/suspicions';
import { openGate, type ReviewWorkspace } from '../../../src/state/review/workspace';
import { createPrefsStore } from '../../../src/state/stores/prefs-store';
import { createUiStore } from '../../../src/state/stores/ui-store';
import { createViewStore } from '../../../src/state/stores/view-store';

const sessions = join(import.meta.dirname, '../../../sample-sessions/sessions');
/** The strip of a window of 1440 x 900: three rows of this width, as measured in the page. */
const strip = { widthPx: 966, rowsThatFit: 3 };

/** One recorder of a sample session in the hands of a scripted reviewer: the page's own commands, without a page. */
export interface Rig {
  readonly workspace: ReviewWorkspace;
  readonly recordingId: string;
  /** Presses the key of a command; false when it did nothing. */
  press(id: string): boolean;
  review(): RecordingReview;
  /** The queue of the whole recording for the marks as they are. */
  queue(): readonly QueueItem[];
  said(): string;
  /** What a trial changed is put back as it was. */
  attempt<T>(work: () => T): T;
}

export async function openRig(volunteer: string, recordingId: string): Promise<Rig> {
  const bundle = await readBundle(bytesSource(`${volunteer}.zip`, readFileSync(join(sessions, `${volunteer}.zip`))));
  const { session } = bundle.reviewed;
  const item = session.recordings.find(r => r.recording.id === recordingId)!;
  const sink = memorySink();
  await bundle.readRecording(recordingId, sink);
  const signals = createSignals([item.recording]);
  signals.replace(
    recordingId,
    item.recording.leads.map((lead, i) => memoryLead(lead, sink.lead(i))),
  );
  const review = createReviewStore(
    { session, log: newLog(logHeader(session, 'K1')), others: [], access: { writable: true, why: null } },
    async () => undefined,
    () => new Date(0),
  );
  const lead = item.recording.leads.findIndex(l => l.samplingRateHz === item.recording.samplingRateHz);
  const view = createViewStore();
  view.setState({ recordingId, rows: 3, geometry: strip, caret: item.detected[0] as never });
  const reviewNow = () => reviewOf(review.get(), recordingId);
  const words = sink.lead(lead);
  const { samplingRateHz, gaps } = item.recording;
  const detection = detectBeats(words, samplingRateHz, { gaps });
  const analysis = leadAnalysis(detection, signalFeatures(words, samplingRateHz), item.detected, gaps);
  const rank = createRanking(analysis, item);
  const items = () => rank(reviewNow());
  const suspicions: Suspicions = { ...noSuspicions(true), items, itemsNow: items };
  const workspace = {
    review,
    view,
    signals,
    suspicions,
    occurrences: createOccurrences(),
    purpose: 'review',
    gate: openGate,
  } as unknown as ReviewWorkspace;
  const ui = createUiStore();
  const app = {
    ui,
    prefs: createPrefsStore(),
    clocks: createClocks(),
    now: () => new Date(0),
  } as unknown as CommandContext;
  const press = (id: string) => {
    const command = allCommands.find((c): c is ReviewCommand => c.id === id && c.scene === 'review');
    const key = command?.keys[0];
    // The key must lead to the command, as it does for a person.
    if (!command || commandFor(allCommands, {}, 'review', key!) !== command) throw new Error(`no key for ${id}`);
    return (!command.when || command.when(workspace, app)) && command.run(workspace, app);
  };
  return {
    workspace,
    recordingId,
    press,
    review: reviewNow,
    queue: items,
    said: () => ui.getState().said,
    attempt(work) {
      const before: [ReviewState, ReturnType<typeof view.getState>] = [review.get(), view.getState()];
      try {
        return work();
      } finally {
        review.store.setState(before[0], true);
        view.setState(before[1], true);
      }
    },
  };
}
