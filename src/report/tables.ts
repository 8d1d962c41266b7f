import { type HrvEffect, seriesNames } from '../core/report/hrv-effects';
import { hrvMeasures, measureOf } from '../core/report/hrv-measures';
import type { ReportData } from '../core/report/report';
import { notHere } from '../core/review/looked-at';
import { fixed, type NoteTaker, number, withInterval } from './numbers';
import { activityName, type ReportTable, table } from './table';

export function reviewTable({ sessions, segments, audit }: ReportData): ReportTable {
  const head = [
    'volunteer',
    'counted review',
    'finished raters',
    'settled',
    'segments',
    'looked at',
    'entries',
    'other trace used',
  ];
  return table('reviews', 'Volunteers and reviews', head, 1, note =>
    sessions.map(s => {
      const own = segments.filter(row => row.session === s.session);
      const log = audit.find(a => a.session === s.session && a.source === s.source);
      return [
        s.volunteer,
        s.source ?? note('no finished review'),
        s.finishedRaters.join(', ') || 'none',
        s.settled ? 'yes' : 'no',
        String(own.length),
        lookedAtCell(own, note),
        String(log?.entries ?? 0),
        String(own.reduce((sum, row) => sum + row.otherTraceUsed, 0)),
      ];
    }),
  );
}

/** Mean over the segments, for each who looked. */
function lookedAtCell(own: ReportData['segments'], note: NoteTaker): string {
  if (own.length === 0) return '–';
  if (own.some(row => row.coverageShare === null)) return note(notHere);
  const raters = own[0]!.coverageBy.map(b => b.rater);
  const means = raters.map((_, i) => own.reduce((sum, row) => sum + row.coverageBy[i]!.share, 0) / own.length);
  if (raters.length === 1) return `${fixed(100 * means[0]!, 1)} %`;
  return raters.map((rater, i) => `${rater} ${fixed(100 * means[i]!, 1)} %`).join(', ');
}

export function clocksTable({ clocks }: ReportData): ReportTable {
  return table(
    'clocks',
    'Clocks: second recorder against the first',
    ['volunteer', 'recorders', 'offset, s', 'drift, ppm', 'from', 'beats of both', 'residual SD, ms'],
    1,
    note =>
      clocks.map(c => {
        const head = [c.volunteer, `${c.second} on ${c.first}`];
        if (!c.clock) return [...head, note(c.reason ?? ''), '–', '–', '–', '–'];
        const spread = c.residualSdMs === null ? '–' : fixed(c.residualSdMs, 1);
        return [
          ...head,
          fixed(c.clock.offsetSeconds, 3),
          fixed(c.clock.driftPpm, 1),
          c.clock.from,
          String(c.pairs),
          spread,
        ];
      }),
    driftNotes(clocks),
  );
}

/** Beyond this a recorder's clock is unusual: ppm. */
const usualDriftPpm = 200;

function driftNotes(clocks: ReportData['clocks']): string[] {
  const far = clocks.filter(c => c.clock && Math.abs(c.clock.driftPpm) > usualDriftPpm);
  if (far.length === 0) return [];
  return [`Drift beyond ±${usualDriftPpm} ppm, check the sampling rates: ${far.map(c => c.volunteer).join(', ')}.`];
}

export function ratersTable({ raters }: ReportData): ReportTable {
  return table(
    'raters',
    'Agreement of two raters on one recording',
    [
      'volunteer, recorder',
      'activity',
      'agreed',
      'only A, only B, apart',
      'F1',
      'kappa',
      'quality by A, by B, %',
      'Jaccard',
    ],
    2,
    note =>
      raters.rows.map(r => [
        `${r.volunteer}, ${r.recorder}`,
        activityName(r.activity),
        String(r.agreed),
        `${r.onlyA}, ${r.onlyB}, ${r.placedApart}`,
        number(r.f1, 4, note),
        r.kappa.value === null ? note(r.kappa.reason) : withInterval(r.kappa.value, r.kappa.interval, 2),
        `${number(r.qualityA, 2, note)}, ${number(r.qualityB, 2, note)}`,
        number(r.spanJaccard, 3, note),
      ]),
    [...new Set(raters.rows.map(r => `${r.volunteer}: A is ${r.raterA}, B is ${r.raterB}.`))],
  );
}

export function hrvSummaryTables({ hrv, recorders }: ReportData): ReportTable[] {
  return recorders.map((recorder, i) =>
    hrvSummaryOf(
      hrv.summary.filter(s => s.recorder === recorder),
      recorder,
      i + 1,
    ),
  );
}

function hrvSummaryOf(summary: ReportData['hrv']['summary'], recorder: string, n: number): ReportTable {
  return table(
    `hrv-summary-${n}`,
    `What the mistakes do, ${recorder}: means over segments, and as detected less as reviewed`,
    [
      'activity',
      'measure',
      'segments',
      'as detected',
      'as reviewed',
      'without non-sinus',
      'difference (SD)',
      'largest',
    ],
    2,
    note =>
      summary.map(s => {
        const { label, unit, places } = measureOf(s.key);
        const more = s.notComputable > 0 ? ` + ${s.notComputable} n.c.` : '';
        return [
          s.activity,
          unit ? `${label}, ${unit}` : label,
          `${s.segments}${more}`,
          number(s.detected, places, note),
          number(s.reviewed, places, note),
          number(s.sinus, places, note),
          s.difference.value === null
            ? '–'
            : `${fixed(s.difference.value, places)} (${s.differenceSd.value === null ? '–' : fixed(s.differenceSd.value, places)})`,
          s.largest ? `${fixed(s.largest.value, places)} (${s.largest.volunteer})` : '–',
        ];
      }),
    [
      'Only segments that have the measure both ways enter; the others are counted under "n.c." and explained in the appendix.',
    ],
  );
}

/** Every measure of one recording: a column a segment, detected / reviewed / without non-sinus. */
export function hrvDetailTables({ hrv }: ReportData): ReportTable[] {
  const groups = new Map<string, HrvEffect[]>();
  for (const e of hrv.effects) {
    const key = `${e.session}\n${e.recorder}`;
    groups.set(key, [...(groups.get(key) ?? []), e]);
  }
  return [...groups.values()].map((effects, i) => hrvDetail(effects, i + 1));
}

function hrvDetail(effects: readonly HrvEffect[], n: number): ReportTable {
  const [first] = effects;
  return table(
    `hrv-${n}`,
    `${first!.volunteer}, ${first!.recorder}: as detected / as reviewed / without non-sinus beats`,
    ['measure', ...effects.map(e => e.activity)],
    1,
    note => {
      const line = (label: string, cell: (e: HrvEffect) => string) => [label, ...effects.map(cell)];
      const three = (of: (s: HrvEffect['series']['detected']) => string) => (e: HrvEffect) =>
        seriesNames.map(name => of(e.series[name])).join(' / ');
      return [
        line(
          'intervals',
          three(s => String(s.intervals)),
        ),
        line(
          'readable time, s',
          three(s => fixed(s.readableSeconds, 0)),
        ),
        line(
          'left out: unreadable',
          three(s => String(s.leftOutUnreadable)),
        ),
        line(
          'left out: non-sinus',
          three(s => String(s.leftOutNonSinus)),
        ),
        line(
          'interpolated for Welch, s',
          three(s => fixed(s.interpolatedSeconds, 1)),
        ),
        line(
          'odd intervals, kept',
          three(s => String(s.oddIntervals)),
        ),
        ...hrvMeasures.map(({ key, label, unit, places }) =>
          line(unit ? `${label}, ${unit}` : label, e => {
            const m = e.measures.find(one => one.key === key)!;
            const cells = seriesNames.map(name => number(m[name], places, note));
            return new Set(cells).size === 1 && m.reviewed.value === null ? cells[0]! : cells.join(' / ');
          }),
        ),
      ];
    },
  );
}

export function planningTable({ numbers, settings }: ReportData): ReportTable {
  const { widthPercent } = settings.statistics.planning;
  return table(
    'planning',
    `Volunteers needed for an interval of ${widthPercent} percentage points`,
    ['recorder', 'volunteers needed', 'judged by'],
    1,
    note =>
      numbers.planning.map(({ recorder, plan }) => [
        recorder,
        number(plan.volunteers, 0, note),
        plan.volunteers.value === null ? '–' : `${plan.volunteers.n} volunteers at hand`,
      ]),
    [
      `${numbers.planning[0]?.plan.method ?? ''}.`,
      'The volunteers at hand stand for all others: with few of them the number is likely to be too low. The width is that of the jackknife interval; the interval shown first is wider.',
    ],
  );
}

export function auditSummary({ audit }: ReportData): ReportTable {
  return table(
    'audit',
    'Audit summary: what each log consists of',
    [
      'volunteer',
      'log of',
      'entries',
      'moved, removed, inserted',
      'unreadable',
      'undone',
      'reopened',
      'comments, flags',
      'first and last entry',
      'chain',
    ],
    2,
    () =>
      audit.map(a => {
        const of = (intent: keyof typeof a.byIntent) => a.byIntent[intent] ?? 0;
        return [
          a.volunteer,
          a.source,
          String(a.entries),
          `${of('move')}, ${of('delete')}, ${of('insert')}`,
          String(of('unreadable')),
          String(a.undone),
          String(a.reopened),
          `${a.comments}, ${a.flags}`,
          `${day(a.firstAt)} to ${day(a.lastAt)}`,
          a.chainProblem ?? `verified, last entry ${a.lastHash?.slice(0, 8) ?? '–'}`,
        ];
      }),
  );
}

const day = (at: string | null) => at?.slice(0, 16).replace('T', ' ') ?? '–';

export function recordingsTable({ sessions }: ReportData): ReportTable {
  return table(
    'recordings',
    'Recordings',
    ['volunteer, session', 'recorder', 'started', 'length, min', 'Hz', 'detected marks', 'marks by', 'source'],
    2,
    () =>
      sessions.flatMap(s =>
        s.recordings.map(r => [
          `${s.volunteer}, ${s.session}`,
          r.recorder,
          r.startedAt?.replace('T', ' ') ?? 'unknown',
          fixed(r.seconds / 60, 1),
          String(r.samplingRateHz),
          String(r.detectedMarks),
          r.detectedBy,
          r.source,
        ]),
      ),
  );
}

/** Every setting, by its path in report.json. */
export function settingsTable(data: ReportData): ReportTable {
  const { protocol: _, ...study } = data.study ?? { protocol: '' };
  const rows = [
    ['written by', data.writtenBy],
    ...flattened('settings', data.settings),
    ...(data.study ? flattened('study', study) : []),
    ...flattened('method', data.numbers.methods),
  ];
  return table('settings', 'Every setting', ['setting', 'value'], 1, () => rows);
}

function flattened(path: string, value: unknown): string[][] {
  if (Array.isArray(value) && value.every(v => typeof v !== 'object')) return [[path, value.join(', ') || 'none']];
  if (value === null || typeof value !== 'object')
    return [[path, value === '' || value === null ? 'none' : String(value)]];
  const parts = Object.entries(value);
  return parts.length === 0 ? [[path, 'none']] : parts.flatMap(([key, v]) => flattened(`${path}.${key}`, v));
}
