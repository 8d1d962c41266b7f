import { alignClocks, type ClockAlignment } from '../core/agreement/clock';
import { type ReportBeginning, shares } from '../core/report/beginning';
import { KeptWork } from '../core/report/kept-work';
import { briefly } from '../core/report/pairs/compared-recorders';
import type { FoundClock } from '../core/report/pairs/recorder-pairs';
import { type PreparedReport, type ReportData, reportData, withStrips, workOutAhead } from '../core/report/report';
import type { ReportSettings } from '../core/report/rows';
import type { ReviewedSession } from '../core/review/session';
import { type BoardRow, boardRows } from '../core/review/study/board';
import type { Study } from '../core/review/study/study';
import type { ShownFigure } from '../report/figures/figure';
import { type ReportFile, reportFiles } from '../report/files';
import { footOf, reportPaper } from '../report/html';
import {
  allFigures,
  figureFacts,
  narrowFigures,
  type QualityFigures,
  qualityFigures,
  reportFigures,
} from '../report/report-figures';
import { leadStretch, millivolts } from '../report/strip-signal';
import { collection } from '../storage/collection';
import type { Database } from '../storage/database';
import { listRaters, readLog } from '../storage/logs';
import { readSession } from '../storage/sessions';
import { openSignalStore } from '../storage/signals';
import { openStore } from '../storage/without-disk';
import { ReadAgain } from './read-again';
import { secondOf } from './second-beats';
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

interface ReportProgress extends Progress {
  /** Told once, as soon as it is made: the report up to its tables of quality. */
  readonly begun?: BegunReport;
}

/** The report up to its tables of quality. */
export interface BegunReport {
  readonly title: string;
  readonly ofStudy: boolean;
  /** The beginning of the printable report. */
  readonly beginning: string;
  /** What stands at the foot of each printed page. */
  readonly foot: string;
}

/** What the page needs of a report; its many numbers stay where they were computed, for copying them takes long. */
export interface MadeReport extends BegunReport {
  /** Segments whose numbers the report holds. */
  readonly segments: number;
  /** What follows the beginning: both are the printable report, as the command line writes it. */
  readonly rest: string;
  readonly figures: readonly ShownFigure[];
  /** What the figures were made from. */
  readonly facts: object;
  /** Computing alone, without reading and writing, in ms. */
  readonly computedMs: number;
}

async function storedSessions(
  database: Database,
  ids: readonly string[],
  control: JobControl<Progress>,
): Promise<ReviewedSession[]> {
  const tell = nowAndThen(control);
  const readLogs = async (id: string) => {
    const raters = await listRaters(database, id);
    return Promise.all(raters.map(rater => readLog(database, id, rater)));
  };
  let done = 0;
  // All at once: the store answers one request while the next is on its way.
  const found = await Promise.all(
    ids.map(async (id): Promise<ReviewedSession[]> => {
      const [session, logs] = await Promise.all([readSession(database, id), readLogs(id)]);
      if (!session) return [];
      control.signal.throwIfAborted();
      tell(++done / ids.length);
      return [{ session, logs: logs.flatMap(l => l ?? []) }];
    }),
  );
  return found.flat();
}

/** Least time between two reports of progress: each is a message that the page answers. */
const tellEveryMs = 50;

function nowAndThen(control: JobControl<Progress>): (share: number) => void {
  let told = performance.now();
  return share => {
    const now = performance.now();
    if (now - told < tellEveryMs) return;
    told = now;
    control.progress({ share });
  };
}

/** What the last report was made from and of, so that the next one works out only what has changed. */
const read = new ReadAgain();
let kept = new KeptWork();
let keptOf = '';

/** Parts of the last report, of these sessions alone. */
function keptFor(ids: readonly string[]): KeptWork {
  if (keptOf !== ids.join('\n')) kept = new KeptWork();
  keptOf = ids.join('\n');
  return kept;
}

/** Of making a report, what reading takes. */
const readingShare = 0.1;
/** What is done when its beginning stands. */
const beginningShare = readingShare + (1 - readingShare) * shares.hrv[0];

async function prepare(
  request: ReportRequest,
  control: JobControl<Progress>,
  onBeginning: (beginning: ReportBeginning) => void = () => undefined,
): Promise<{ data: ReportData; computedMs: number }> {
  const whileReading: JobControl<Progress> = {
    ...control,
    progress: ({ share }) => control.progress({ share: readingShare * share }),
  };
  const { found, clocks } = await readAgain(request.sessionIds, whileReading);
  const tell = nowAndThen(control);
  const onProgress = (share: number) => tell(readingShare + (1 - readingShare) * share);
  const second = request.settings.secondDetector ? await secondOf(found, whileReading) : undefined;
  const before = performance.now();
  const prepared = reportData({
    ...request,
    sessions: found,
    foundClocks: clocks.found,
    kept: keptFor(request.sessionIds),
    onProgress,
    onBeginning,
    ...(second ? { second } : {}),
  });
  const computedMs = performance.now() - before;
  await clocks.keep(found);
  return { data: withStrips(prepared, await signalsOf(prepared, found)), computedMs };
}

/**
 * What a report on these sessions will need of each of them, worked out before it is asked for; other jobs are heard after
 * every session. The settings are those that the report will have.
 */
async function reportAhead(request: ReportRequest, control: JobControl<Progress>): Promise<void> {
  const { found, clocks } = await readAgain(request.sessionIds, control);
  for (const session of found) {
    await new Promise(heard => setTimeout(heard));
    control.signal.throwIfAborted();
    const input = { ...request, sessions: found, foundClocks: clocks.found, kept: keptFor(request.sessionIds) };
    workOutAhead(input, session);
  }
  await clocks.keep(found);
}

/** The stored sessions, as they were read last where they are the same, and the clocks that were found in them. */
async function readAgain(ids: readonly string[], control: JobControl<Progress>) {
  const database = await openStore();
  const [found, clocks] = await Promise.all([storedSessions(database, ids, control), knownClocks(database, ids)]);
  return { found: read.same(found), clocks };
}

interface KnownClocks {
  /** By `clockKey`; new ones are put in. */
  readonly found: Map<string, FoundClock>;
  /** So that the next report on the same reviews need not look for the new ones again; losing them costs only time. */
  keep(sessions: readonly ReviewedSession[]): Promise<void>;
}

async function knownClocks(database: Database, ids: readonly string[]): Promise<KnownClocks> {
  const stored = collection<[string, FoundClock][]>(database, 'setting');
  const known = (await Promise.all(ids.map(id => stored.get('found clocks', id)))).flatMap(k => k ?? []);
  // They were once kept with all pairs of beats, a hundred times as large.
  const areBrief = known.every(([, clock]) => !('pairs' in clock));
  const found = new Map(known.map(([key, clock]) => [key, briefly(clock)]));
  return {
    found,
    async keep(sessions) {
      if (found.size === known.length && areBrief) return;
      for (const { session, logs } of sessions) {
        const standing = new Set(logs.flatMap(l => l.entries.at(-1)?.hash ?? []));
        const own = [...found].filter(([key]) => {
          const [id, hash] = key.split(' ');
          return id === session.id && standing.has(hash!);
        });
        await stored.put(own, 'found clocks', session.id).catch(() => undefined);
      }
    },
  };
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

async function report(request: ReportRequest, control: JobControl<ReportProgress>): Promise<MadeReport> {
  const paper = reportPaper();
  let first: QualityFigures | undefined;
  let begun: BegunReport | undefined;
  const { data, computedMs } = await prepare(request, control, beginning => {
    first = qualityFigures(beginning);
    begun = {
      title: beginning.title,
      ofStudy: beginning.study !== null,
      beginning: paper.beginning(beginning, first),
      foot: footOf(beginning),
    };
    control.progress({ share: beginningShare, begun });
  });
  const figures = reportFigures(data, first);
  return {
    ...begun!,
    segments: data.segments.length,
    rest: paper.rest(data, figures),
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
  return (await storedSessions(await openStore(), sessionIds, control)).flatMap(boardRows);
}

/** Beat times in s of two recorders, each from its own start. */
async function clocks({ timesA, timesB }: { timesA: Float64Array; timesB: Float64Array }): Promise<ClockAlignment> {
  return alignClocks(timesA, timesB);
}

export const reportJobs = { report, reportAhead, reportPackage, board, clocks };
