import { alignClocks, type ClockAlignment } from '../core/agreement/clock';
import type { Recording } from '../core/recording/recording';
import { KeptWork } from '../core/report/kept-work';
import { type PreparedReport, type ReportData, reportData, withStrips } from '../core/report/report';
import type { ReportSettings } from '../core/report/rows';
import { type SecondDetector, secondOfAll, signalAbsent } from '../core/report/second-detector';
import type { ReviewedSession } from '../core/review/session';
import { type BoardRow, boardRows } from '../core/review/study/board';
import type { Study } from '../core/review/study/study';
import type { ShownFigure } from '../report/figures/figure';
import { type ReportFile, reportFiles } from '../report/files';
import { footOf, reportBody } from '../report/html';
import { allFigures, figureFacts, narrowFigures, reportFigures } from '../report/report-figures';
import { leadStretch, millivolts } from '../report/strip-signal';
import { type Collection, collection } from '../storage/collection';
import type { Database } from '../storage/database';
import { listRaters, readLog } from '../storage/logs';
import { readSession } from '../storage/sessions';
import { openSignalStore } from '../storage/signals';
import { openStore } from '../storage/without-disk';
import { ReadAgain } from './read-again';
import { detect } from './stored-leads';
import type { JobControl } from './worker-client';

/** Work on stored sessions as a whole: nothing but ids goes in. */

interface Progress {
  /** 0 to 1. */
  readonly share: number;
}

export interface ReportRequest {
  readonly title: string;
  readonly study: Study | null;
  readonly sessionIds: readonly string[];
  readonly settings: ReportSettings;
}

/** What the page needs of a report; its many numbers stay where they were computed, for copying them takes long. */
export interface MadeReport {
  readonly title: string;
  readonly ofStudy: boolean;
  /** Segments whose numbers the report holds. */
  readonly segments: number;
  /** The printable report, as the command line writes it. */
  readonly body: string;
  /** What stands at the foot of each printed page. */
  readonly foot: string;
  readonly figures: readonly ShownFigure[];
  /** What the figures were made from. */
  readonly facts: object;
  /** Computing alone, without reading and writing, in ms. */
  readonly computedMs: number;
}

async function storedSessions(
  ids: readonly string[],
  control: JobControl<Progress>,
): Promise<{ found: ReviewedSession[]; database: Database }> {
  const database = await openStore();
  let done = 0;
  // All at once: the store answers one request while the next is on its way.
  const found = await Promise.all(
    ids.map(async (id): Promise<ReviewedSession[]> => {
      const [session, raters] = await Promise.all([readSession(database, id), listRaters(database, id)]);
      if (!session) return [];
      const logs = await Promise.all(raters.map(rater => readLog(database, id, rater)));
      control.signal.throwIfAborted();
      control.progress({ share: ++done / ids.length });
      return [{ session, logs: logs.flatMap(l => l ?? []) }];
    }),
  );
  return { found: found.flat(), database };
}

/** What the last report was made from and of, so that the next one works out only what has changed. */
const read = new ReadAgain();
const kept = new KeptWork();

/** Of making a report, what reading takes. */
const readingShare = 0.1;

async function prepare(
  request: ReportRequest,
  control: JobControl<Progress>,
): Promise<{ data: ReportData; computedMs: number }> {
  const { found: stored, database } = await storedSessions(request.sessionIds, {
    ...control,
    progress: ({ share }) => control.progress({ share: readingShare * share }),
  });
  const found = read.same(stored);
  const onProgress = (share: number) => control.progress({ share: readingShare + (1 - readingShare) * share });
  const keptClocks = collection<[string, ClockAlignment][]>(database, 'setting');
  const known = (await Promise.all(request.sessionIds.map(id => keptClocks.get('found clocks', id)))).flatMap(
    k => k ?? [],
  );
  const foundClocks = new Map(known);
  const second = request.settings.secondDetector ? await secondOf(found, control) : undefined;
  const before = performance.now();
  const prepared = reportData({
    ...request,
    sessions: found,
    foundClocks,
    kept,
    onProgress,
    ...(second ? { second } : {}),
  });
  const computedMs = performance.now() - before;
  if (foundClocks.size > known.length) await keepFoundClocks(keptClocks, found, foundClocks);
  return { data: withStrips(prepared, await signalsOf(prepared, found)), computedMs };
}

/** The second detector over every stored signal; nothing else reaches it. */
function secondOf(found: readonly ReviewedSession[], control: JobControl<Progress>): Promise<SecondDetector> {
  const { signal } = control;
  const sessions = found.map(s => s.session);
  const beatsOf = async (session: string, recording: Recording, leads: readonly number[]) => {
    const stored = leads.map(lead => ({
      id: { session, recording: recording.id, lead },
      lead: recording.leads[lead]!,
    }));
    const store = await openSignalStore();
    for (const { id, lead } of stored) if (!(await store.holds(id, lead))) return signalAbsent;
    return detect({ leads: stored, gaps: recording.gaps }, { signal, progress: () => undefined });
  };
  return secondOfAll(sessions, beatsOf, done => control.progress({ share: readingShare * (done / sessions.length) }));
}

/** So that the next report on the same reviews need not look for the clocks again; losing them costs only time. */
async function keepFoundClocks(
  kept: Collection<[string, ClockAlignment][]>,
  sessions: readonly ReviewedSession[],
  found: ReadonlyMap<string, ClockAlignment>,
): Promise<void> {
  for (const { session, logs } of sessions) {
    const standing = new Set(logs.flatMap(l => l.entries.at(-1)?.hash ?? []));
    const own = [...found].filter(([key]) => {
      const [id, hash] = key.split(' ');
      return id === session.id && standing.has(hash!);
    });
    await kept.put(own, 'found clocks', session.id).catch(() => undefined);
  }
}

async function signalsOf(
  { strips, places }: PreparedReport,
  sessions: readonly ReviewedSession[],
): Promise<number[][]> {
  const store = await openSignalStore();
  return Promise.all(
    strips.map(async (strip, i) => {
      const { session: sessionId, recordingId } = places[i]!;
      const { session } = sessions.find(s => s.session.id === sessionId)!;
      const lead = session.recordings.find(r => r.recording.id === recordingId)!.recording.leads[strip.lead];
      const id = { session: sessionId, recording: recordingId, lead: strip.lead };
      if (!lead || !(await store.holds(id, lead))) return [];
      const [start, end] = leadStretch(strip, lead);
      return millivolts(await store.lead(id, lead).read(start, end), lead);
    }),
  );
}

async function report(request: ReportRequest, control: JobControl<Progress>): Promise<MadeReport> {
  const { data, computedMs } = await prepare(request, control);
  const figures = reportFigures(data);
  return {
    title: data.title,
    ofStudy: data.study !== null,
    segments: data.segments.length,
    body: reportBody(data, figures),
    foot: footOf(data),
    figures: [...allFigures(figures), ...narrowFigures(data).map(f => ({ ...f, title: `${f.title}, one column` }))].map(
      ({ data: _, ...shown }) => shown,
    ),
    facts: figureFacts(data),
    computedMs,
  };
}

/** Every file of the report, as the command line writes them. */
async function reportPackage(request: ReportRequest, control: JobControl<Progress>): Promise<ReportFile[]> {
  return reportFiles((await prepare(request, control)).data);
}

async function board(
  { sessionIds }: { sessionIds: readonly string[] },
  control: JobControl<Progress>,
): Promise<BoardRow[]> {
  return (await storedSessions(sessionIds, control)).found.flatMap(boardRows);
}

/** Beat times in s of two recorders, each from its own start. */
async function clocks({ timesA, timesB }: { timesA: Float64Array; timesB: Float64Array }): Promise<ClockAlignment> {
  return alignClocks(timesA, timesB);
}

export const reportJobs = { report, reportPackage, board, clocks };
