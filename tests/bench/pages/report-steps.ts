import { append, type EditLog, newLog } from '../../../src/core/marks/log';
import { defaultMatchSettings } from '../../../src/core/marks/match';
import { defaultStudySettings } from '../../../src/core/report/study-numbers';
import { readBundle } from '../../../src/formats/bundle/reader';
import { fileSource } from '../../../src/formats/bytes/source';
import { openDatabase } from '../../../src/storage/database';
import { addLog } from '../../../src/storage/logs';
import { saveSession } from '../../../src/storage/sessions';
import { openAnalysis } from '../../../src/workers/analysis';
import type { ReportRequest } from '../../../src/workers/report-jobs';

const ids: string[] = [];

/** Puts sample bundles where the page keeps its sessions, without their signals: a report's numbers need none. */
export async function keepSessions(paths: readonly string[]): Promise<number> {
  const database = await openDatabase();
  for (const path of paths) {
    const blob = await (await fetch(path)).blob();
    const { reviewed } = await readBundle(fileSource(new File([blob], path)));
    await saveSession(database, reviewed.session, '2026-09-12T00:00:00Z');
    for (const log of reviewed.logs) await addLog(database, log);
    ids.push(reviewed.session.id);
  }
  return ids.length;
}

/** The same volunteers again and again under other codes, until there are `count`. */
export async function keepMany(paths: readonly string[], count: number): Promise<number> {
  const database = await openDatabase();
  const read = paths.map(async path => {
    const blob = await (await fetch(path)).blob();
    return (await readBundle(fileSource(new File([blob], path)))).reviewed;
  });
  const given = await Promise.all(read);
  ids.length = 0;
  for (let i = 0; i < count; i++) {
    const { session, logs } = given[i % given.length]!;
    const code = `H${String(i + 1).padStart(3, '0')}`;
    await saveSession(database, { ...session, id: code, participant: code }, '2026-09-12T00:00:00Z');
    for (const log of logs) await addLog(database, ofSession(log, code));
    ids.push(code);
  }
  return ids.length;
}

/** The same log under another session, with a chain of its own. */
function ofSession({ header, entries }: EditLog, session: string): EditLog {
  let log = newLog({ ...header, session });
  for (const { seq: _seq, previous: _previous, hash: _hash, version: _version, ...draft } of entries)
    log = append(log, draft).log;
  return log;
}

/** A report that is cancelled half-way, and then one to the end, as the page asks for them. */
export async function largeReport(): Promise<{ wholeMs: number; steps: number; cancelledMs: number }> {
  const analysis = openAnalysis();
  let cancelledMs = Number.NaN;
  let asked = 0;
  const half = analysis.start('report', request(1), ({ share }) => {
    if (share < 0.5 || asked > 0) return;
    asked = performance.now();
    analysis.close();
  });
  await half.done.catch(() => {
    cancelledMs = performance.now() - asked;
  });
  const next = openAnalysis();
  try {
    let steps = 0;
    const before = performance.now();
    await next.start('report', request(1), () => steps++).done;
    return { wholeMs: performance.now() - before, steps, cancelledMs };
  } finally {
    next.close();
  }
}

function request(seed: number): ReportRequest {
  return {
    title: 'demo',
    study: null,
    sessionIds: ids,
    settings: {
      match: defaultMatchSettings,
      statistics: { ...defaultStudySettings, bootstrap: { ...defaultStudySettings.bootstrap, seed } },
      includeUnfinished: false,
      clocks: {},
    },
  };
}

export interface ReportTimes {
  /** From asking to the whole report in the page: opening, every number, tables and figures. */
  readonly wholeMs: number;
  /** From asking to the report's beginning, up to its tables of quality. */
  readonly beginningMs: number;
  /** The numbers alone, as the worker measured them. */
  readonly numbersMs: number;
}

/**
 * The first report of a worker: of one that was just started and has done one trifle, so that its modules are there but no
 * code is warm; or, as on the page of a study, of one that has made its board and
 * worked out ahead what hangs on one session alone.
 */
export async function coldReport(board: 'no board' | 'board'): Promise<ReportTimes> {
  const analysis = openAnalysis();
  try {
    await analysis.start('board', { sessionIds: board === 'board' ? ids : [] }).done;
    if (board === 'board') await analysis.start('reportAhead', request(1)).done;
    return await timed(analysis);
  } finally {
    analysis.close();
  }
}

/** The best of some reports by one worker that has made one: of the same, or each with another seed of the bootstrap. */
export async function warmReport(rounds: number, what: 'the same' | 'another seed'): Promise<ReportTimes> {
  const analysis = openAnalysis();
  try {
    await timed(analysis);
    const { POSITIVE_INFINITY: none } = Number;
    let best: ReportTimes = { wholeMs: none, beginningMs: none, numbersMs: none };
    for (let round = 1; round <= rounds; round++) {
      const times = await timed(analysis, what === 'the same' ? 1 : 1 + round);
      if (times.wholeMs < best.wholeMs) best = times;
    }
    return best;
  } finally {
    analysis.close();
  }
}

async function timed(analysis: ReturnType<typeof openAnalysis>, seed = 1): Promise<ReportTimes> {
  const before = performance.now();
  let beginningMs = Number.NaN;
  const { segments, computedMs } = await analysis.start('report', request(seed), ({ begun }) => {
    if (begun?.beginning.includes('table-quality')) beginningMs = performance.now() - before;
  }).done;
  const wholeMs = performance.now() - before;
  if (segments !== 80) throw new Error(`${segments} segments`);
  return { wholeMs, beginningMs, numbersMs: computedMs };
}

/** Milliseconds to sum 86.4 million int16 in this browser, best of some: the yardstick. */
export function summingPass(): number {
  const words = new Int16Array(86_400_000).fill(1);
  let best = Number.POSITIVE_INFINITY;
  for (let round = 0; round < 5; round++) {
    const before = performance.now();
    let sum = 0;
    for (let i = 0; i < words.length; i++) sum += words[i]!;
    if (sum !== words.length) throw new RangeError('the words are not all 1');
    best = Math.min(best, performance.now() - before);
  }
  return best;
}
