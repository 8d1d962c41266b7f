import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { defaultMatchSettings } from '../../src/core/marks/match';
import type { ReportInput } from '../../src/core/report/beginning';
import { reportData } from '../../src/core/report/report';
import { defaultStudySettings } from '../../src/core/report/study-numbers';
import type { ReviewedSession } from '../../src/core/review/session';
import { readBundle } from '../../src/formats/bundle/reader';
import { bytesSource } from '../../src/formats/bytes/source';
import { reportBody } from '../../src/report/html';
import { withPage } from './browser';
import type { Bench, Figure } from './measure';

type Steps = typeof import('./pages/report-steps');

const folder = join(import.meta.dirname, '../../sample-sessions/study');
const volunteers = ['V01', 'V02', 'V03', 'V04', 'V05', 'V06', 'V07', 'V08'];

/** Processor time in ms of the best of some runs, after one that warms up: work, not waiting for other programs. */
function bestWorkMs(rounds: number, work: () => void): number {
  let best = Number.POSITIVE_INFINITY;
  for (let round = 0; round <= rounds; round++) {
    const before = process.cpuUsage();
    work();
    const { user, system } = process.cpuUsage(before);
    if (round > 0) best = Math.min(best, (user + system) / 1000);
  }
  return best;
}

/** The report's own worker in a browser, from stored sessions to the report in the page. */
async function inTheBrowser(): Promise<Figure[]> {
  return withPage<Steps, Figure[]>('../../bench/pages/report-steps', async ({ call }) => {
    await call(
      'keepSessions',
      volunteers.map(v => `/sample-sessions/study/${v}.zip`),
    );
    // The first one finds the clocks, which are kept.
    await call('coldReport', 'no board');
    // Each by a worker of its own: one alone may meet another program of the machine.
    const middleOfFive = async (board: 'no board' | 'board') => {
      const times: Awaited<ReturnType<Steps['coldReport']>>[] = [];
      for (let round = 0; round < 5; round++) times.push(await call('coldReport', board));
      const middle = (of: 'wholeMs' | 'beginningMs') => times.map(t => t[of]).sort((a, b) => a - b)[2]!;
      return { whole: middle('wholeMs'), beginning: middle('beginningMs') };
    };
    const [cold, afterBoard] = [await middleOfFive('no board'), await middleOfFive('board')];
    const warm = await call('warmReport', 5, 'another seed');
    const again = await call('warmReport', 5, 'the same');
    const pass = await call('summingPass');
    await call(
      'keepMany',
      volunteers.map(v => `/sample-sessions/study/${v}.zip`),
      hundred,
    );
    const large = await call('largeReport');
    return [
      { of: 'browser, cold: up to quality, middle of five', value: cold.beginning, unit: 'ms', limit: secondMs },
      { of: 'browser, cold, middle of five', value: cold.whole, unit: 'ms', limit: secondMs },
      { of: 'browser, first after its board', value: afterBoard.whole, unit: 'ms', limit: secondMs },
      { of: 'browser, another seed', value: warm.wholeMs, unit: 'ms', limit: secondMs },
      { of: 'browser, another seed, numbers alone', value: warm.numbersMs, unit: 'ms', limit: null },
      { of: 'browser, nothing changed', value: again.wholeMs, unit: 'ms', limit: secondMs },
      // source: a study of a hundred is to be reported within twenty seconds.
      { of: `browser, ${hundred} volunteers, clocks found`, value: large.wholeMs, unit: 'ms', limit: 20 * secondMs },
      { of: `browser, ${hundred} volunteers: told of progress`, value: large.steps, unit: 'times', limit: null },
      {
        of: `browser, ${hundred} volunteers: from cancelling half-way to its end`,
        value: large.cancelledMs,
        unit: 'ms',
        limit: 100,
      },
      { of: 'browser, cold / summing 86.4 M int16', value: cold.whole / pass, unit: 'x', limit: null },
      { of: 'browser, another seed / summing 86.4 M int16', value: warm.wholeMs / pass, unit: 'x', limit: null },
    ];
  });
}

const secondMs = 1000;
const hundred = 100;

/** The demo's volunteers again and again under other codes, until there are a hundred: numbers, tables and figures, once. */
function hundredVolunteersMs(sessions: readonly ReviewedSession[], settings: ReportInput['settings']): number {
  const many = Array.from({ length: hundred }, (_, i): ReviewedSession => {
    const { session, logs } = sessions[i % sessions.length]!;
    const code = `H${String(i + 1).padStart(3, '0')}`;
    return { session: { ...session, id: code, participant: code }, logs };
  });
  const before = process.cpuUsage();
  reportBody(reportData({ title: 'hundred', study: null, sessions: many, settings }).data);
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1000;
}

export const reportBench: Bench = {
  name: 'report',
  says: 'every number of the demo study, 8 volunteers x 2 recorders x 5 segments: replay, scores, HRV, agreement, 2000 draws',
  async run(): Promise<readonly Figure[]> {
    const sessions = await Promise.all(
      volunteers.map(async v => (await readBundle(bytesSource(v, readFileSync(join(folder, `${v}.zip`))))).reviewed),
    );
    const settings = { match: defaultMatchSettings, statistics: defaultStudySettings, includeUnfinished: false };
    const input: ReportInput = { title: 'demo', study: null, sessions, settings: { ...settings, clocks: {} } };
    let made = reportData(input);
    const clocks = Object.fromEntries(made.data.clocks.map(c => [c.session, { 'adhesive-logger': c.clock! }]));
    const known: ReportInput = { ...input, settings: { ...settings, clocks } };
    const recompute = bestWorkMs(5, () => {
      made = reportData(known);
    });
    const words = new Int16Array(86_400_000);
    const summing = bestWorkMs(5, () => {
      let sum = 0;
      for (let i = 0; i < words.length; i++) sum += words[i]!;
      if (sum !== 0) throw new RangeError('the words are all 0');
    });
    return [
      ...(await inTheBrowser()),
      // The pass takes 52 ms where nothing else runs, so 19 passes are a second of work there.
      { of: 'recompute / summing 86.4 M int16', value: recompute / summing, unit: 'x', limit: 19 },
      { of: 'recompute, clocks kept', value: recompute, unit: 'ms', limit: null },
      { of: 'clocks found again', value: bestWorkMs(2, () => void reportData(input)), unit: 'ms', limit: null },
      {
        of: `${hundred} volunteers, clocks found, tables and figures as HTML`,
        value: hundredVolunteersMs(sessions, input.settings),
        unit: 'ms',
        limit: 14 * secondMs,
      },
      {
        of: 'tables and figures as HTML',
        value: bestWorkMs(3, () => void reportBody(made.data)),
        unit: 'ms',
        limit: null,
      },
    ];
  },
};
