import type { EditLog } from '../core/marks/log';
import { exportableLogs } from '../core/review/blind';
import type { ReviewedSession } from '../core/review/session';
import { bundleBlocks } from '../formats/bundle-writer';
import { edfFile } from '../formats/edf-writer';
import { reviewedEdf } from '../formats/export-edf';
import { auditTrailCsv, reviewedMarksCsv, rrIntervalsCsv } from '../formats/export-marks';
import { resultsCsv, resultsSidecar } from '../formats/export-results';
import type { App } from './app';
import { active, type Desk } from './desk';

/** One file ready to be handed to the person. */
export interface ExportFile {
  readonly name: string;
  readonly blob: Blob;
}

/** What this copy may hand on: the rater's own log, and the others' only once the own review is finished. */
export function shownSession(desk: Desk): ReviewedSession {
  const { session, log, others } = desk.review.get();
  const reviewed = { session, logs: [log, ...others] };
  return { session, logs: exportableLogs(reviewed, log.header, 'as I see it') };
}

const text = (name: string, content: string, type = 'text/csv'): ExportFile => {
  return { name, blob: new Blob([content], { type: `${type};charset=utf-8` }) };
};

const raters = (logs: readonly EditLog[]) => logs.map(l => l.header.rater);

export function exportResults(app: App, desk: Desk): ExportFile[] {
  const reviewed = shownSession(desk);
  const shown = [{ reviewed, raters: raters(reviewed.logs) }];
  const sidecar = JSON.stringify(resultsSidecar(shown, app.now().toISOString()), null, 2);
  const { id } = reviewed.session;
  return [text(`${id}-results.csv`, resultsCsv(shown)), text(`${id}-results.json`, sidecar, 'application/json')];
}

export function exportMarks(desk: Desk): ExportFile[] {
  const { item, review } = active(desk);
  const { session, log } = desk.review.get();
  const name = `${session.id}-${item.recording.id}-${log.header.rater}`;
  return [text(`${name}-marks.csv`, reviewedMarksCsv(item, review, session.settings))];
}

export function exportIntervals(desk: Desk): ExportFile[] {
  const { item } = active(desk);
  const { session, log } = desk.review.get();
  const name = `${session.id}-${item.recording.id}-${log.header.rater}`;
  return [text(`${name}-rr.csv`, rrIntervalsCsv(desk.scoreOf(item.recording.id)))];
}

export function exportAudit(desk: Desk): ExportFile[] {
  const { session, logs } = shownSession(desk);
  return logs.map(log => text(`${session.id}-${log.header.rater}-audit.csv`, auditTrailCsv(session, log)));
}

/** EDF+ of the recording in hand with the reviewed marks as annotations; with or without the signal. */
export async function exportEdf(desk: Desk, withSignal: boolean): Promise<ExportFile[]> {
  const { item, review } = active(desk);
  const { session, log } = desk.review.get();
  const sources = item.recording.leads.map((_, i) => desk.signals.source(item.recording.id, i)!.samples);
  const file = await edfFile(reviewedEdf(item, review, withSignal ? sources : [], session.participant));
  const kind = withSignal ? 'reviewed' : 'annotations';
  const name = `${session.id}-${item.recording.id}-${log.header.rater}-${kind}.edf`;
  return [{ name, blob: await collect(file.blocks(), 'application/octet-stream') }];
}

/** The session as one file; for a blind rater without any log. */
export async function exportBundle(desk: Desk, audience: 'as I see it' | 'blind rater'): Promise<ExportFile[]> {
  const { session, log, others } = desk.review.get();
  const logs = exportableLogs({ session, logs: [log, ...others] }, log.header, audience);
  const leads = (id: string, lead: number) => desk.signals.source(id, lead)!.samples;
  const blocks = bundleBlocks({ session, logs }, leads);
  const name =
    audience === 'blind rater' ? `${session.id}-for-blind-rating.zip` : `${session.id}-${log.header.rater}.zip`;
  return [{ name, blob: await collect(blocks, 'application/zip') }];
}

/** Pieces into one Blob, which the browser may keep on disk: never all of it in one array. */
async function collect(blocks: AsyncIterable<Uint8Array>, type: string): Promise<Blob> {
  const parts: Blob[] = [];
  let small: BlobPart[] = [];
  let bytes = 0;
  for await (const block of blocks) {
    small.push(block.slice() as Uint8Array<ArrayBuffer>);
    bytes += block.length;
    if (bytes > 8 * 2 ** 20) {
      parts.push(new Blob(small));
      small = [];
      bytes = 0;
    }
  }
  return new Blob([...parts, ...small], { type });
}

export function handOver(files: readonly ExportFile[]): void {
  for (const { name, blob } of files) {
    const link = document.createElement('a');
    link.href = URL.createObjectURL(blob);
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  }
}
