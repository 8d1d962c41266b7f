import { beforeEach, describe, expect, test } from 'vitest';
import type { ReportBeginning } from '../../../src/core/report/beginning';
import type { DrawnStrip } from '../../../src/core/report/example-strips';
import { type ReportData, reportData, withStrips } from '../../../src/core/report/report';
import { curvesFigure } from '../../../src/report/figures/curves-figure';
import type { Figure } from '../../../src/report/figures/figure';
import { stripFigure } from '../../../src/report/figures/strip-figure';
import { reportBody, reportPaper } from '../../../src/report/html';
import {
  allFigures,
  narrowCurves,
  narrowFigures,
  qualityFigures,
  type ReportFigures,
  reportFigures,
} from '../../../src/report/report-figures';
import { hrvSummaryTables } from '../../../src/report/tables/hrv-tables';
import { reviewTable, settingsTable } from '../../../src/report/tables/study-tables';
import { inputOf, sampleStudy } from '../core/report/sample-study';

let data: ReportData;
let figures: ReportFigures;
let told: readonly ReportBeginning[];

let once: ReturnType<typeof make> | undefined;
/** Made once for all tests; where it fails each of them fails, which a hook before all would hide. */
async function make() {
  const beginnings: ReportBeginning[] = [];
  const input = inputOf((await sampleStudy()).slice(0, 3), 100);
  const prepared = reportData({ ...input, onBeginning: beginning => beginnings.push(beginning) });
  const strip = Array.from({ length: 400 }, (_, i) => Math.sin(i / 9));
  const made = withStrips(
    prepared,
    prepared.strips.map(() => strip),
  );
  return { data: made, figures: reportFigures(made), told: beginnings };
}

beforeEach(async () => {
  once ??= make();
  ({ data, figures, told } = await once);
});

// source: definition: what is shown first is what the whole report begins with
test('the beginning is told once, and is that of the whole report', () => {
  expect(told).toHaveLength(1);
  const [{ audit, ...beginning }] = told as [ReportBeginning];
  expect(data).toMatchObject(beginning);
  expect(data.audit).toMatchObject(audit);
  const paper = reportPaper();
  const first = paper.beginning(told[0]!, qualityFigures(told[0]!));
  expect(first).toContain('id="table-tolerances"');
  expect(reportBody(data, figures)).toBe(`${first}\n${paper.rest(data, figures)}`);
});

const narrowOnes = () => [...narrowFigures(data), ...narrowCurves(data)];

const attribute = (element: string, name: string) => new RegExp(` ${name}="([^"]*)"`).exec(element)?.[1];
const numberOf = (element: string, name: string) => Number(attribute(element, name));

interface Words {
  readonly x: number;
  readonly y: number;
  readonly anchor: string;
  readonly size: number;
  readonly bold: boolean;
  readonly words: string;
}

/** The elements of a drawing; points are where a path's pen is put down or drawn to, in px. */
function drawn({ drawing: { body } }: Figure) {
  const elements = (name: string) => [...body.matchAll(new RegExp(`<${name} [^>]*>`, 'g'))].map(m => m[0]);
  const paths = elements('path').map(e => ({ d: attribute(e, 'd')!, width: numberOf(e, 'stroke-width') }));
  return {
    circles: elements('circle').map(e => ({ x: numberOf(e, 'cx'), y: numberOf(e, 'cy'), r: numberOf(e, 'r') })),
    boxes: elements('rect').map(e => ({
      x: numberOf(e, 'x'),
      y: numberOf(e, 'y'),
      width: numberOf(e, 'width'),
      height: numberOf(e, 'height'),
    })),
    paths: paths.map(p => ({ ...p, points: pointsOf(p.d) })),
    texts: [...body.matchAll(/(<text [^>]*>)([^<]*)<\/text>/g)].map(
      ([, head, words]): Words => ({
        x: numberOf(head!, 'x'),
        y: numberOf(head!, 'y'),
        anchor: attribute(head!, 'text-anchor') ?? 'start',
        size: Number(attribute(head!, 'font-size') ?? 11),
        bold: attribute(head!, 'font-weight') !== undefined,
        words: words!,
      }),
    ),
  };
}

const pointsOf = (d: string) =>
  [...d.matchAll(/[ML](-?[\d.]+) (-?[\d.]+)/g)].map(m => [Number(m[1]), Number(m[2])] as const);

/** Where a value lies by the axis' own printed ticks. */
function byTicks(ticks: readonly Words[], along: 'x' | 'y', log = false): (value: number) => number {
  const of = (t: Words) => {
    const value = Number(t.words.replace('−', '-'));
    return log ? Math.log(value) : value;
  };
  const [a, b] = [ticks[0]!, ticks.at(-1)!];
  return value => a[along] + (((log ? Math.log(value) : value) - of(a)) / (of(b) - of(a))) * (b[along] - a[along]);
}

const near = (a: number, b: number) => Math.abs(a - b) < 0.35;

describe('what is drawn', () => {
  test('lies on its sheet, with every text in it', () => {
    const all = [...allFigures(figures), ...narrowOnes()];
    expect(new Set(all.map(f => f.id)).size).toBe(all.length);
    for (const figure of all) {
      const { widthPx, heightPx } = figure.drawing;
      const { circles, boxes, paths, texts } = drawn(figure);
      const places = [
        ...circles.map(c => [c.x, c.y] as const),
        ...boxes.flatMap(b => [[b.x, b.y] as const, [b.x + b.width, b.y + b.height] as const]),
        ...paths.flatMap(p => p.points),
        ...texts.map(t => [t.x, t.y] as const),
      ];
      expect(places.length).toBeGreaterThan(10);
      const outside = places.filter(([x, y]) => !(x >= -0.5 && y >= -0.5 && x <= widthPx + 0.5 && y <= heightPx + 0.5));
      expect(outside, figure.id).toEqual([]);
    }
  });

  // source: common practice of journals: one column of 85 mm or two of 180 mm, lettering of 7 pt or more at print size
  test('fits two columns of a journal, its words at 7 pt or more, every line and mark explained', () => {
    const mm = 96 / 25.4;
    const pt = 96 / 72;
    for (const figure of allFigures(figures)) {
      expect(figure.drawing.widthPx / mm, figure.id).toBeLessThanOrEqual(180.01);
      for (const { size, words } of drawn(figure).texts) expect(size / pt, words).toBeGreaterThanOrEqual(7);
      expect(figure.legend.length, figure.id).toBeGreaterThan(40);
    }
    expect(narrowOnes()).toHaveLength(allFigures(figures).length);
    for (const figure of narrowOnes()) {
      expect(figure.drawing.widthPx / mm, figure.id).toBeLessThanOrEqual(85);
      for (const { size, words } of drawn(figure).texts) expect(size / pt, words).toBeGreaterThanOrEqual(7);
    }
  });

  // source: definition; where every review is a sample no segment has a quality, a mistake or HRV of its own
  test('a figure or a table without anything in it is left out, and the report says why', () => {
    const numbers = { ...data.numbers, quality: [], differences: [], planning: [] };
    const samples: ReportData = { ...data, numbers, tolerances: [], hrv: { effects: [], summary: [] }, curves: [] };
    const own = reportFigures(samples);
    expect([own.quality, own.mistakes, own.hrv, own.planning]).toEqual([null, null, null, null]);
    const ids = [...allFigures(own), ...narrowFigures(samples)].map(f => f.id).join(' ');
    expect(ids).not.toMatch(/figure-(quality|mistakes|hrv|planning)/);
    const html = reportBody(samples, own);
    for (const id of [
      'quality',
      'mistakes',
      'tolerances',
      'hrv-summary',
      'planning',
      'quality-bootstrap',
      'differences',
    ]) {
      expect(html).not.toContain(`id="table-${id}"`);
      expect(reportBody(data, figures)).toContain(`id="table-${id}"`);
    }
    expect(html).toContain('Not computable: heart rate and HRV. No review of a segment is complete.');
  });

  // source: domain page, "never 0 %, 100 % or NaN by accident"
  test('a row without an interval says so and draws no share', () => {
    const nothing = { value: null, reason: 'no interval to judge' } as const;
    const [first, ...others] = data.numbers.quality;
    const empty = {
      ...first!,
      pooled: nothing,
      pooledClustered: nothing,
      mistakes: first!.mistakes.map(m => ({ ...m, intervals: 0, ofMistakes: nothing, ofAll: nothing })),
      perVolunteer: first!.perVolunteer.map(v => ({ ...v, quality: nothing })),
    };
    const own = reportFigures({ ...data, numbers: { ...data.numbers, quality: [empty, ...others] } });
    for (const figure of [own.quality!, own.mistakes!]) {
      const said = drawn(figure).texts.filter(t => t.words.endsWith('not computable'));
      expect(said, figure.id).toHaveLength(1);
      expect(figure.description).toContain(`${first!.recorder}, ${first!.activity}: not computable`);
    }
  });

  test('quality lies where the ticks say, for all volunteers with its interval and for each', () => {
    const { circles, paths, texts } = drawn(figures.quality!);
    const at = byTicks(
      texts.filter(t => t.size === 10),
      'x',
    );
    const rows = data.numbers.quality;
    const own = rows.flatMap(r => r.perVolunteer.flatMap(v => v.quality.value ?? []));
    const rings = circles.filter(c => c.r === 2.2);
    expect(rings).toHaveLength(own.length + 1);
    for (const v of own) expect(rings.some(c => near(c.x, at(v)))).toBe(true);
    const pooled = circles.filter(c => c.r === 4.4);
    expect(pooled).toHaveLength(rows.filter(r => r.pooled.value !== null).length);
    for (const row of rows) {
      expect(pooled.some(c => near(c.x, at(row.pooled.value!)))).toBe(true);
      const interval = row.pooledClustered.value === null ? null : row.pooledClustered.interval;
      if (!interval) continue;
      const bar = paths.filter(p => p.points.length === 2 && interval.every((v, i) => near(p.points[i]![0], at(v))));
      expect(bar.length).toBeGreaterThanOrEqual(2);
    }
    expect(texts.filter(t => t.bold).map(t => t.words)).toEqual(['all activities']);
  });

  test('mistakes are bars as long as their shares, one beside the other', () => {
    const { boxes, texts } = drawn(figures.mistakes!);
    const at = byTicks(
      texts.filter(t => t.size === 10),
      'x',
    );
    for (const row of data.numbers.quality) {
      let sum = 0;
      for (const { ofAll } of row.mistakes) {
        const share = ofAll.value ?? 0;
        if (share > 0) expect(boxes.some(b => near(b.x, at(sum)) && near(b.width, at(share) - at(0)))).toBe(true);
        sum += share;
      }
      const shown = row.mistakes.filter(m => m.intervals > 0).map(m => m.intervals);
      const name = `${row.recorder}, ${row.activity ?? 'all activities'}: ${sum.toFixed(1)} %`;
      const told = figures.mistakes!.description.split(/[;.] /).find(part => part.startsWith(name))!;
      expect((told.slice(name.length).match(/\d+/g) ?? []).map(Number)).toEqual(shown);
    }
    expect(texts.filter(t => t.bold).map(t => t.words)).toEqual(['all activities']);
  });

  test.each([
    ['mean heart rate, bpm', 'meanHeartRate', false],
    ['SDNN, ms', 'sdnn', true],
    ['RMSSD, ms', 'rmssd', true],
    ['HF, Lomb-Scargle, ms²', 'lombHf', true],
  ])('%s as detected lies over itself as reviewed, by the ticks of both axes', (title, key, log) => {
    const { texts, circles } = drawn(figures.hrv!);
    const head = texts.find(t => t.bold && t.words === title)!;
    const own = texts.filter(
      t => t.size === 10 && Math.abs(t.x - head.x - 130) < 180 && t.y > head.y && t.y < head.y + 250,
    );
    const foot = Math.max(...own.map(t => t.y));
    const x = byTicks(
      own.filter(t => t.anchor === 'middle' && t.y === foot),
      'x',
      log,
    );
    // Words stand 3.5 px below the middle of the tick they name.
    const beside = own.filter(t => t.anchor === 'end' && t.x === head.x - 6).map(t => ({ ...t, y: t.y - 3.5 }));
    const y = byTicks(beside, 'y', log);
    const points = data.hrv.effects
      .filter(e => e.activity === data.activities[0])
      .map(e => e.measures.find(m => m.key === key)!)
      .filter(m => m.detected.value !== null && m.reviewed.value !== null);
    expect(points.length).toBeGreaterThan(1);
    for (const { detected, reviewed } of points) {
      expect(circles.some(c => near(c.x, x(reviewed.value!)) && near(c.y, y(detected.value!)))).toBe(true);
    }
  });

  test('agreement has a mark for each pair of values, and the bias and limits of all activities', () => {
    const [pair] = data.agreement;
    const figure = figures.agreement[0]!;
    const { widthPx } = figure.drawing;
    const { paths, texts } = drawn(figure);
    const shown = new Set(figure.data.rows.map(row => row[0]));
    const measures = [...new Set(pair!.points.map(c => c.measure))];
    const all = pair!.rows.filter(({ activity, blandAltman: b }) => {
      const told = b.value === null ? '' : `bias ${b.value.toFixed(2)}, limits ${b.lower.toFixed(2)} to`;
      return activity === null && told !== '' && figure.description.includes(told);
    });
    expect(all.length).toBeGreaterThan(1);
    expect(shown.size).toBe(all.length);
    expect(measures.length).toBeGreaterThanOrEqual(shown.size);
    for (const [place, row] of all.entries()) {
      const b = row.blandAltman;
      if (b.value === null) throw new Error('no limits');
      const inPanel = (px: number) => px > (place * widthPx) / 2 && px < ((place + 1) * widthPx) / 2;
      const beside = texts.filter(t => t.size === 10 && t.anchor === 'end' && inPanel(t.x));
      const y = byTicks(
        beside.map(t => ({ ...t, y: t.y - 3.5 })),
        'y',
      );
      const level = paths.filter(p => p.points.length === 2 && p.points[0]![1] === p.points[1]![1]);
      const lines = level.filter(p => inPanel(p.points[0]![0]));
      for (const value of [b.value, b.lower, b.upper])
        expect(lines.some(p => near(p.points[0]![1], y(value)))).toBe(true);
    }
    const pairs = pair!.points.filter(c => all.some(r => r.measure === c.measure)).reduce((n, c) => n + c.a.length, 0);
    const dots = [...figure.drawing.body.matchAll(/<g opacity="[^"]*">(.*?)<\/g>/gs)].map(m => m[1]).join('');
    expect((dots.match(/<(circle|path|rect)[^>]*>/g) ?? []).length).toBe(pairs);
    expect(figure.data.rows).toHaveLength(pairs);
  });

  test('spectra are drawn whole under the frame, each frequency at its tick', () => {
    const [first] = data.curves;
    const frequenciesHz = [0, 0.1, 0.2, 0.3, 0.4];
    const of = (density: number[]) => ({ frequenciesHz, density });
    const spectrum = { detected: of([0, 10, 400, 10, 5]), reviewed: of([0, 100, 50, 25, 5]), sinus: null };
    const { paths, texts } = drawn(curvesFigure([{ ...first!, spectrum }], 1));
    const right = paths.filter(p => p.points.every(([px, py]) => px > 480 && py > 30));
    const x = byTicks(
      texts.filter(t => t.size === 10 && t.anchor === 'middle' && t.x > 480),
      'x',
    );
    const beside = texts.filter(t => t.size === 10 && t.anchor === 'end' && t.x > 440 && t.y > 30);
    const y = byTicks(
      beside.map(t => ({ ...t, y: t.y - 3.5 })),
      'y',
    );
    const reviewed = right.find(p => p.width === 1 && p.points.length === 5)!;
    for (const [i, [px, py]] of reviewed.points.entries()) {
      expect(near(px, x(frequenciesHz[i]!))).toBe(true);
      expect(near(py, y(spectrum.reviewed.density[i]!))).toBe(true);
    }
    // What lies beyond is left out and the pen lifted.
    const detected = right.find(p => p.width === 3.2)!;
    expect(detected.points).toHaveLength(4);
    expect(detected.d.match(/[ML]/g)).toEqual(['M', 'L', 'M', 'L']);
    expect(texts.some(t => t.words === 'as detected: beyond the frame')).toBe(true);
  });

  test('tachograms have every interval, and what lies beyond the frame stands at its edge', () => {
    const [first] = data.curves;
    const curve = {
      ...first!,
      lengthSeconds: 10,
      tachogram: {
        detected: { seconds: [1, 2, 3.9, 5], rrMs: [1000, 1000, 1900, 100] },
        reviewed: { seconds: [1, 2, 2.99, 4.5], rrMs: [1000, 1000, 990, 1010] },
        sinus: { seconds: [1, 2, 4.5], rrMs: [1000, 1000, 1010] },
      },
    };
    const figure = curvesFigure([curve], 3);
    expect(figure.id).toBe('figure-curves-3');
    const { paths: all, texts } = drawn(figure);
    // The key is above.
    const paths = all.filter(p => p.points.every(([, y]) => y > 30));
    const ticks = texts.filter(t => t.size === 10 && t.x < 440);
    const x = byTicks(
      ticks.filter(t => t.anchor === 'middle'),
      'x',
    );
    const beside = ticks.filter(t => t.anchor === 'end').map(t => ({ ...t, y: t.y - 3.5 }));
    const y = byTicks(beside, 'y');
    const reviewed = paths.find(p => p.width === 0.7)!;
    for (const [i, [px, py]] of reviewed.points.entries()) {
      expect(near(px, x(curve.tachogram.reviewed.seconds[i]!))).toBe(true);
      expect(near(py, y(curve.tachogram.reviewed.rrMs[i]!))).toBe(true);
    }
    // The pen is lifted before the interval that does not begin at the beat before.
    expect(reviewed.d.match(/[ML]/g)).toEqual(['M', 'L', 'L', 'M']);
    const frame = paths.find(p => p.width === 0.9 && p.points.length === 3);
    const [top, bottom] = [frame!.points[0]![1], frame!.points[1]![1]];
    const detected = paths.find(p => p.width === 3.2)!;
    expect(detected.points.map(p => p[1]).slice(2)).toEqual([top, bottom]);
    const crosses = paths.filter(p => p.width === 0.9 && p.points.length === 4);
    expect(crosses).toHaveLength(1);
    expect(near((crosses[0]!.points[0]![0] + crosses[0]!.points[1]![0]) / 2, x(2.99))).toBe(true);
    expect(figure.data.rows[0]!.slice(1)).toEqual(['detected', 4, 100, 1900]);
    const none = { seconds: [], rrMs: [] };
    const empty = curvesFigure([{ ...curve, tachogram: { ...curve.tachogram, detected: none, reviewed: none } }], 1);
    expect(drawn(empty).texts.map(t => t.words)).toContain(`${curve.activity}: no interval`);
  });

  test('an example strip is drawn to scale, its marks under the trace', () => {
    const strip: DrawnStrip = {
      session: 'V01-study',
      volunteer: 'V01',
      recordingId: 'chest-band',
      recorder: 'chest band',
      activity: 'uphill run',
      rater: 'R1',
      comment: '',
      kinds: ['missed'],
      lead: 0,
      leadName: '',
      samplingRateHz: 100,
      start: 1000,
      end: 1800,
      detectedSeconds: [0.5, 4, 7.5],
      reviewedSeconds: [0.5, 2.25, 4, 7.5],
      unreadableSeconds: [[6, 6.5]],
      millivolts: [0, 1, -0.5, 0.25, 0, 0, 0, 0],
    };
    const figure = stripFigure(strip, 2);
    expect(figure.title).toBe('Example: missed (V01, chest band, uphill run, 10.0 s)');
    expect(figure.description).toBe('8 s of ECG with 3 detected and 4 reviewed marks. Comment of R1: none');
    const { paths, boxes, texts } = drawn(figure);
    // source: the scale printed below it, 20 mm a second and 10 mm a mV, at 96 px an inch
    const mm = 96 / 25.4;
    const x = (s: number) => 70 + s * 20 * mm;
    const trace = paths.find(p => p.points.length === 8 && p.d.includes('L'))!;
    expect(trace.points.every(([px], i) => near(px, x(i)))).toBe(true);
    const zero = trace.points[0]![1];
    expect(trace.points.every(([, py], i) => near(zero - py, strip.millivolts[i]! * 10 * mm))).toBe(true);
    const lanes = paths.filter(p => p.width === 1.6).map(p => p.points.map(([px]) => px));
    expect(lanes.map(l => l.length)).toEqual([3, 4]);
    expect(lanes[0]!.every((px, i) => near(px, x(strip.detectedSeconds[i]!)))).toBe(true);
    expect(lanes[1]!.every((px, i) => near(px, x(strip.reviewedSeconds[i]!)))).toBe(true);
    expect(boxes.some(b => near(b.x, x(6)) && near(b.width, x(6.5) - x(6)))).toBe(true);
    expect(texts.some(t => t.words.startsWith('20 mm/s, 10 mm/mV'))).toBe(true);
    expect(figure.data.rows).toContainEqual(['unreadable to', 6.5]);
    const named = stripFigure({ ...strip, comment: 'a pause?', leadName: 'A', kinds: [], activity: null }, 1);
    expect(named.title).toBe('Example: no mistake (V01, chest band, lead A, 10.0 s)');
    expect(named.description).toContain('Comment of R1: a pause?');
    expect(drawn(stripFigure({ ...strip, millivolts: [] }, 1)).texts.map(t => t.words)).toContain(
      'the signal is not stored here',
    );
  });
});

describe('tables', () => {
  test('say how much each rater looked at, of a session two have finished', () => {
    const [session] = data.sessions;
    const own = data.segments.filter(s => s.session === session!.session);
    const shares = own.map((s, i) => ({
      ...s,
      coverageShare: 1,
      coverageBy: [
        { rater: 'R1', share: i === 0 ? 0.5 : 1 },
        { rater: 'R2', share: 0.25 },
      ],
    }));
    const mean = ((100 * (own.length - 0.5)) / own.length).toFixed(1);
    const { head, rows } = reviewTable({ ...data, segments: shares });
    expect(rows[0]![head.indexOf('looked at')]).toBe(`R1 ${mean} %, R2 25.0 %`);
    const alone = shares.map(s => ({ ...s, coverageBy: s.coverageBy.slice(0, 1) }));
    expect(reviewTable({ ...data, segments: alone }).rows[0]![head.indexOf('looked at')]).toBe(`${mean} %`);
  });

  test('of what the mistakes do have each number of the report, one table a recorder', () => {
    const tables = hrvSummaryTables(data);
    expect(tables.map(t => t.id)).toEqual(data.recorders.map((_, i) => `table-hrv-summary-${i + 1}`));
    const plain = (v: number, places: number) => {
      const text = v.toFixed(places);
      return (Number(text) === 0 ? text.replace('-', '') : text).replace('-', '−');
    };
    for (const [i, recorder] of data.recorders.entries()) {
      const summary = data.hrv.summary.filter(s => s.recorder === recorder);
      expect(tables[i]!.rows).toHaveLength(summary.length);
      for (const [k, s] of summary.entries()) {
        const { difference, differenceSd, largest, sinus } = s;
        const isOfFewer = sinus.value !== null && sinus.n < s.segments;
        expect(tables[i]!.rows[k]![5]!.endsWith(isOfFewer ? ` (${sinus.n} of ${s.segments})` : ')')).toBe(isOfFewer);
        if (difference.value === null || differenceSd.value === null) continue;
        const places = tables[i]!.rows[k]![6]!.split(' ')[0]!.split('.')[1]?.length ?? 0;
        expect(tables[i]!.rows[k]!.slice(6)).toEqual([
          `${plain(difference.value, places)} (${plain(differenceSd.value, places)})`,
          `${plain(largest!.value, places)} (${largest!.volunteer})`,
        ]);
      }
      expect(summary.some(s => s.differenceSd.value !== null)).toBe(true);
      expect(summary.some(s => s.sinus.value !== null && s.sinus.n < s.segments)).toBe(true);
    }
  });

  test('have “none” for a setting that is empty', () => {
    const study = { ...data, study: { id: 'day', title: '', template: [], note: null } } as unknown as ReportData;
    const { rows } = settingsTable(study);
    for (const path of ['study.title', 'study.template', 'study.note']) expect(rows).toContainEqual([path, 'none']);
    expect(rows).toContainEqual(['study.id', 'day']);
  });
});
