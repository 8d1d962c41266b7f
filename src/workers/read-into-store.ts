import type { Pyramid } from '../core/recording/pyramid';
import type { ReadControl, SampleSink } from '../formats/bytes/source';
import { createSignalWriter, type SignalWriter, type WrittenLead } from '../storage/signal-writer';
import type { LeadId } from '../storage/signals';
import { openSignalFiles } from '../storage/signals';
import type { JobControl } from './worker-client';

export interface ImportProgress {
  readonly doneBytes: number;
  readonly totalBytes: number;
  /** From the speed so far; null in the first moments. */
  readonly secondsLeft: number | null;
  /**
   * What can be read from the store by now, by lead, with pyramids of just that; leads not yet begun (bundles store them
   * one after the other) are absent. Null when nothing changed since the last report.
   */
  readonly ready: readonly ReadyLead[] | null;
}

export interface ReadyLead extends WrittenLead {
  readonly pyramid: Pyramid;
}

/** How often the page hears of progress, and how often what was read is made readable. */
const reportMs = 100;
const readyMs = 1500;

/**
 * Runs a reader with the store as its sink. What is written becomes readable on the way; when the read fails or is
 * cancelled, nothing of it stays.
 */
export async function readIntoStore<T>(
  ids: Omit<LeadId, 'lead'>,
  control: JobControl<ImportProgress>,
  read: (sink: SampleSink, control: ReadControl) => Promise<T>,
): Promise<T> {
  const writer = await createSignalWriter(await openSignalFiles(), ids);
  const watch = progressWatch(control);
  try {
    const answer = await read(readySink(writer, watch), { onProgress: watch.bytes, signal: control.signal });
    await writer.finish();
    watch.report(null);
    return answer;
  } catch (error) {
    await writer.discard().catch(() => undefined);
    throw error;
  }
}

type Watch = ReturnType<typeof progressWatch>;

function progressWatch(control: JobControl<ImportProgress>) {
  const begun = performance.now();
  let lastReport = begun;
  let last = { doneBytes: 0, totalBytes: 0 };
  const report = (ready: readonly ReadyLead[] | null) => {
    const now = performance.now();
    lastReport = now;
    const share = last.totalBytes > 0 ? last.doneBytes / last.totalBytes : 0;
    const elapsed = (now - begun) / 1000;
    const secondsLeft = share > 0 && elapsed > 0.5 ? (elapsed / share) * (1 - share) : null;
    control.progress({ ...last, secondsLeft, ready });
  };
  return {
    report,
    bytes(doneBytes: number, totalBytes: number) {
      last = { doneBytes, totalBytes };
      if (performance.now() - lastReport >= reportMs) report(null);
    },
  };
}

/** The first blocks are made readable at once, so that a strip can open; the rest now and then. */
function readySink(writer: SignalWriter, watch: Watch): SampleSink {
  let lastReady = performance.now();
  let pace = readyMs / 16;
  let previous = Number.POSITIVE_INFINITY;
  const makeReady = async () => {
    const written = await writer.settle();
    watch.report(written.map((lead, i) => ({ ...lead, pyramid: writer.pyramid(i) })));
    lastReady = performance.now();
    pace = Math.min(readyMs, pace * 2);
  };
  return {
    write(lead, words) {
      // Between rounds over the leads, so that all of them reach equally far.
      const newRound = lead <= previous && previous !== Number.POSITIVE_INFINITY;
      previous = lead;
      if (!newRound || performance.now() - lastReady < pace) return writer.write(lead, words);
      return makeReady().then(() => writer.write(lead, words));
    },
    skip: (lead, count) => writer.skip(lead, count),
    restart: () => writer.restart(),
  };
}
