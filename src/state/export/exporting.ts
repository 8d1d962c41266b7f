import { type EditLog, replay } from '../../core/marks/log';
import type { LeadSamples } from '../../core/recording/recording';
import { type Provenance, provenanceOf } from '../../core/report/provenance';
import { type Handling, keepAll } from '../../core/review/privacy/identifying';
import { type Leaving, leaving } from '../../core/review/privacy/leaving';
import { exportableLogs, hasRated, isFinished } from '../../core/review/raters/blind';
import { detectedOf, type ReviewedSession, type SessionRecording } from '../../core/review/session';
import { groundsOf } from '../../core/review/standing/grounds';
import { reviewedScore } from '../../core/review/standing/reviewed-score';
import { scoreReview } from '../../core/review/standing/score-review';
import { sourceLabel } from '../../core/review/standing/sources';
import { bundleBlocks } from '../../formats/bundle/writer';
import { auditTrailCsv, reviewedMarksCsv, rrIntervalsCsv } from '../../formats/csv/marks';
import { csvMetadata, csvMetadataName } from '../../formats/csv/metadata';
import { resultsCsv, resultsSidecar } from '../../formats/csv/results';
import { reviewedEdf } from '../../formats/edf/reviewed';
import { edfFile } from '../../formats/edf/writer';
import { itemOf, type ReviewWorkspace } from '../review/workspace';

/** One file ready to be handed to the person. */
export interface ExportFile {
  readonly name: string;
  readonly blob: Blob;
}

/** What this copy may hand on: the rater's own log, and the others' only once the own review is finished. */
export function shownSession(workspace: ReviewWorkspace): ReviewedSession {
  const { session, log, others } = workspace.review.get();
  const reviewed = { session, logs: [log, ...others] };
  const logs = exportableLogs(reviewed, log.header, 'as I see it');
  // A settlement not begun says nothing yet.
  return { session, logs: logs.filter(l => l.header.role !== 'adjudicator' || l.entries.length > 0) };
}

/** A review that numbers and marks can be taken from. */
export interface ExportSource {
  readonly rater: string;
  /** In words, e.g. 'R1' or 'adjudicated by S1'. */
  readonly label: string;
}

export function exportSources(workspace: ReviewWorkspace): ExportSource[] {
  return shownSession(workspace).logs.map(log => ({
    rater: log.header.rater,
    label: sourceLabel(log, isFinished(log)),
  }));
}

const text = (name: string, content: string, type = 'text/csv'): ExportFile => {
  return { name, blob: new Blob([content], { type: `${type};charset=utf-8` }) };
};

/** A table, and beside it what it was made from. */
function table(name: string, content: string, provenance: Provenance): ExportFile[] {
  const beside = text(csvMetadataName(name), csvMetadata(name, provenance), 'application/json');
  return [text(name, content), beside];
}

/** The current recording as each of these logs has it, as it may leave; the name says whose it is. */
function chosen(workspace: ReviewWorkspace, raters: readonly string[], handling: Handling) {
  const all = leaving(shownSession(workspace), handling);
  const { session } = all;
  const { recordingId } = workspace.view.getState();
  const item = session.recordings.find(r => r.recording.id === all.names.recording(recordingId))!;
  return logsOf(all, raters).map(log => {
    const replayed = replay(log, detectedOf(session));
    const review = replayed.recordings.get(item.recording.id)!;
    const grounds = groundsOf(session, log, replayed, all.logs).of(item.recording.id);
    const provenance = provenanceOf({ session, logs: [log] }, item.recording.id);
    const name = `${session.id}-${item.recording.id}-${nameOf(log)}`;
    return { session, item, log, review, grounds, name, provenance };
  });
}

/** Logs of `raters`, given by their own codes. */
function logsOf({ logs, names }: Leaving, raters: readonly string[]): EditLog[] {
  const shown = raters.map(names.rater);
  return logs.filter(log => shown.includes(log.header.rater));
}

function nameOf({ header }: EditLog): string {
  return header.role === 'adjudicator' ? `adjudicated-${header.rater}` : header.rater;
}

/** `raters`: codes of the logs to take from, here and below. */
export function exportResults(
  app: { now(): Date },
  workspace: ReviewWorkspace,
  raters: readonly string[],
  handling = keepAll,
): ExportFile[] {
  const reviewed = leaving(shownSession(workspace), handling);
  const shown = [{ reviewed, raters: logsOf(reviewed, raters).map(l => l.header.rater) }];
  const sidecar = JSON.stringify(resultsSidecar(shown, app.now().toISOString()), null, 2);
  const { id } = reviewed.session;
  return [text(`${id}-results.csv`, resultsCsv(shown)), text(`${id}-results.json`, sidecar, 'application/json')];
}

export function exportMarks(workspace: ReviewWorkspace, raters: readonly string[], handling = keepAll): ExportFile[] {
  return chosen(workspace, raters, handling).flatMap(c => {
    const marks = reviewedMarksCsv(c.item, c.review, c.session.settings, c.grounds.lookers);
    return table(`${c.name}-marks.csv`, marks, c.provenance);
  });
}

export function exportIntervals(
  workspace: ReviewWorkspace,
  raters: readonly string[],
  handling = keepAll,
): ExportFile[] {
  return chosen(workspace, raters, handling).flatMap(({ item, review, session, grounds, name, provenance }) => {
    const score = reviewedScore(scoreReview(item, review, session.settings), item, grounds);
    return table(`${name}-rr.csv`, rrIntervalsCsv(score), provenance);
  });
}

export function exportAudit(workspace: ReviewWorkspace, raters: readonly string[], handling = keepAll): ExportFile[] {
  const all = leaving(shownSession(workspace), handling);
  const { session } = all;
  return logsOf(all, raters).flatMap(log =>
    table(
      `${session.id}-${nameOf(log)}-audit.csv`,
      auditTrailCsv(session, log),
      provenanceOf({ session, logs: [log] }),
    ),
  );
}

/** EDF+ of the current recording with the reviewed marks as annotations; with or without the signal. */
export async function exportEdf(
  workspace: ReviewWorkspace,
  withSignal: boolean,
  raters: readonly string[],
  handling = keepAll,
): Promise<ExportFile[]> {
  const kind = withSignal ? 'reviewed' : 'annotations';
  const out: ExportFile[] = [];
  const own = itemOf(workspace, workspace.view.getState().recordingId);
  for (const { session, item, review, name, provenance } of chosen(workspace, raters, handling)) {
    const sources = withSignal ? storedLeads(workspace, own, 'export the annotations without the signal') : [];
    const file = await edfFile(reviewedEdf(item, review, sources, session.participant, provenance));
    out.push({ name: `${name}-${kind}.edf`, blob: await collect(file.blocks(), 'application/octet-stream') });
  }
  return out;
}

/** The session as one file; for a blind rater without any log. */
export async function exportBundle(
  workspace: ReviewWorkspace,
  audience: 'as I see it' | 'blind rater',
  handling: Handling = keepAll,
): Promise<ExportFile[]> {
  const { session: own, log, others } = workspace.review.get();
  const { requiredPractice } = workspace;
  const whole = requiredPractice ? { ...own, requiredPractice } : own;
  const visible = exportableLogs({ session: whole, logs: [log, ...others] }, log.header, audience);
  // Who only looked has no review to pass on.
  const logs = visible.filter(l => l.entries.length === 0 || l.header.role !== 'rater' || hasRated(l));
  const { session, logs: shown, names } = leaving({ session: whole, logs }, handling);
  const stored = new Map(
    whole.recordings.map(r => [
      names.recording(r.recording.id),
      storedLeads(workspace, r, 'the audit trail holds every entry of the log'),
    ]),
  );
  const blocks = bundleBlocks({ session, logs: shown }, (id, lead) => stored.get(id)![lead]!);
  const name =
    audience === 'blind rater'
      ? `${session.id}-for-blind-rating.zip`
      : `${session.id}-${names.rater(log.header.rater)}.zip`;
  return [{ name, blob: await collect(blocks, 'application/zip') }];
}

/** The signal of a recording; what is not stored in full is reported before anything is written. */
function storedLeads(workspace: ReviewWorkspace, { recording }: SessionRecording, instead: string): LeadSamples[] {
  return recording.leads.map((lead, i) => {
    const samples = workspace.signals.source(recording.id, i)?.samples;
    const which = `the signal of ${recording.recorder}, lead ${lead.name}`;
    if (!samples) {
      throw new Error(
        `Nothing was written: ${which} is not stored in this browser. Import the recording again, or ${instead}.`,
      );
    }
    if (samples.sampleCount < lead.sampleCount) {
      throw new Error(
        `Nothing was written: ${which} is still being read. Wait until the import is done, or ${instead}.`,
      );
    }
    return samples;
  });
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

/** Browsers drop what goes beyond ten downloads a second, and say nothing. */
const mostInASecond = 8;
const apartMs = 1200;
/** When the last ones were begun, or will be. */
const begun: number[] = [];

/** Gives the files to the browser's downloads, in this order; many of them not all at once. */
export function download(files: readonly ExportFile[]): void {
  for (const file of files) {
    const now = performance.now();
    const freeFrom = (begun.at(-mostInASecond) ?? Number.NEGATIVE_INFINITY) + apartMs;
    const at = Math.max(now, freeFrom, begun.at(-1) ?? now);
    begun.push(at);
    if (begun.length > mostInASecond) begun.shift();
    if (at > now) setTimeout(save, at - now, file);
    else save(file);
  }
}

function save({ name, blob }: ExportFile): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
