import { csvParseRows } from 'd3-dsv';
import { beforeEach, describe, expect, test } from 'vitest';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import { type PreparedReport, reportData, withStrips } from '../../../../src/core/report/report';
import type { ReviewedSession } from '../../../../src/core/review/session';
import type { Study } from '../../../../src/core/review/study/study';
import type { Estimate } from '../../../../src/core/score/result';
import { type ReportFile, reportFiles, reportJson } from '../../../../src/report/files';
import { reportBody } from '../../../../src/report/html';
import { inputOf, sampleStudy, truthOf, volunteers } from './sample-study';

let sessions: ReviewedSession[];
let made: PreparedReport;
let files: ReportFile[];

let once: Promise<{ sessions: ReviewedSession[]; made: PreparedReport; files: ReportFile[] }> | undefined;
/** Made once for all tests; where it fails each of them fails, which a hook before all would hide. */
async function make() {
  const sessions = await sampleStudy();
  const made = reportData(inputOf(sessions));
  return { sessions, made, files: reportFiles(made.data) };
}

beforeEach(async () => {
  once ??= make();
  ({ sessions, made, files } = await once);
});

const demoStudy: Study = {
  id: 'demo',
  title: 'Demo',
  sessions: [],
  settings: defaultMatchSettings,
  namingPattern: '',
  segmentTemplate: [],
  protocol: '',
};

interface Tally {
  judged: number;
  missed: number;
  wrongPeak: number;
  extra: number;
}

/** Intervals by cause, straight from the lists of what was planted: no matching of marks. */
function plantedTally(recorder: string, activity: string | null): Tally {
  const tally: Tally = { judged: 0, missed: 0, wrongPeak: 0, extra: 0 };
  for (const { session } of sessions) {
    const truth = truthOf(session.participant);
    for (const item of session.recordings.filter(r => r.recording.recorder === recorder)) {
      const own = truth.recordings.find(r => r.id === item.recording.id)!;
      const hidden = [...own.unreadable, ...item.recording.gaps];
      const seen = (s: number) => !hidden.some(h => s >= h.start && s < h.end);
      const beats = own.beats.filter(seen);
      const of = (kind: string) => own.planted.filter(p => p.kind === kind);
      const missed = new Set(of('missed').map(p => p.beat));
      // A mark on the flank of its own QRS, out of tolerance, counts as a wrong peak.
      const wrong = new Set([...of('wrongPeak'), ...of('shifted')].map(p => p.beat));
      const extra = of('extra').map(p => p.mark!);
      for (const segment of item.segments.filter(s => activity === null || s.name === activity)) {
        for (let k = 0; k + 1 < beats.length; k++) {
          const [a, b] = [beats[k]!, beats[k + 1]!];
          if (a < segment.start || b >= segment.end || hidden.some(h => h.start < b && h.end > a)) continue;
          tally.judged++;
          if (missed.has(a) || missed.has(b)) tally.missed++;
          else if (wrong.has(a) || wrong.has(b)) tally.wrongPeak++;
          else if (extra.some(m => m > a && m < b)) tally.extra++;
        }
      }
    }
  }
  return tally;
}

describe('the report of the demo study', () => {
  // source: sample-sessions/truth, what was planted when the study was generated; R1's review is the truth
  test('has exactly the planted mistakes and their shares, for each recorder and activity', () => {
    const { quality } = made.data.numbers;
    expect(quality).toHaveLength(12);
    for (const row of quality) {
      const planted = plantedTally(row.recorder, row.activity);
      const of = (kind: string) => row.mistakes.find(m => m.kind === kind)!;
      expect(row.judged).toBe(planted.judged);
      const wrong = planted.missed + planted.wrongPeak + planted.extra;
      expect(row.right).toBe(planted.judged - wrong);
      for (const kind of ['missed', 'wrongPeak', 'extra'] as const) {
        expect(of(kind).intervals).toBe(planted[kind]);
        const share = of(kind).ofMistakes;
        if (wrong + row.lost > 0) expect(share.value).toBeCloseTo((100 * planted[kind]) / (wrong + row.lost), 10);
      }
      expect(of('unreadable').intervals + of('noSignal').intervals).toBe(row.lost);
    }
  });

  // source: sample-sessions/truth; the limits are those the alignment is held to on simulated clocks
  test('finds the clocks within 5 ms and 2 ppm', () => {
    expect(made.data.clocks.map(c => c.volunteer)).toEqual(volunteers);
    for (const { volunteer, clock } of made.data.clocks) {
      const truth = truthOf(volunteer).clocks;
      expect(Math.abs(clock!.offsetSeconds - truth.offsetSeconds)).toBeLessThan(0.005);
      expect(Math.abs(clock!.driftPpm - truth.driftPpm)).toBeLessThan(2);
    }
  });

  // source: sample-sessions/truth, the second rater's slips
  test('counts between raters what the second one did differently', () => {
    for (const volunteer of ['V03', 'V06']) {
      const slips = truthOf(volunteer).secondRaterSlips;
      for (const row of made.data.raters.rows.filter(r => r.volunteer === volunteer && r.activity === null)) {
        const id = row.recorder === 'chest band' ? 'chest-band' : 'adhesive-logger';
        const n = (...kinds: string[]) => slips.filter(s => s.recording === id && kinds.includes(s.kind)).length;
        expect(row.onlyA).toBe(n('missed left'));
        expect(row.placedApart).toBe(n('wrong peak left'));
        expect(row.onlyB).toBe(n('extra left', 'stray mark'));
      }
    }
  });

  // source: sample-sessions/truth, ectopic beats; the class is by intervals alone, so a few steady ones are not seen
  test('leaves out most beats that are ectopic, and hardly any other', () => {
    const found = (volunteer: string) =>
      made.data.hrv.effects.filter(e => e.volunteer === volunteer).reduce((n, e) => n + e.nonSinusBeats, 0);
    for (const volunteer of ['V03', 'V07']) {
      const truth = truthOf(volunteer).recordings.reduce((n, r) => n + r.ectopic.length, 0);
      expect(found(volunteer)).toBeGreaterThan(0.5 * truth);
      expect(found(volunteer)).toBeLessThan(1.2 * truth);
    }
    for (const volunteer of ['V01', 'V02', 'V05', 'V08']) expect(found(volunteer)).toBeLessThan(8);
  });

  test('shows no measure without non-sinus beats where nobody confirmed which they are and intervals are odd', () => {
    for (const { volunteer, sinusCheck, measures } of made.data.hrv.effects) {
      const { sinus } = measures.find(m => m.key === 'meanNn')!;
      if (sinusCheck.status === 'not confirmed') expect(sinus).toEqual({ value: null, reason: sinusCheck.reason });
      else expect(sinus.value, volunteer).not.toBeNull();
    }
    const of = (volunteer: string) =>
      made.data.hrv.effects.filter(e => e.volunteer === volunteer).map(e => e.sinusCheck.status);
    expect(of('V03')).toContain('not confirmed');
    expect(of('V01')).toContain('few odd intervals');
    expect(reportBody(made.data)).toContain('were not confirmed');
  });

  // source: Task Force, Circulation 1996;93:1043: the triangular index needs 20 min, SDANN several five-minute blocks
  test('says why five minutes do not support a measure', () => {
    for (const { measures } of made.data.hrv.effects) {
      const of = (key: string) => measures.find(m => m.key === key)!;
      expect(of('triangularIndex').reviewed).toMatchObject({ value: null });
      expect(of('sdann').reviewed).toMatchObject({ value: null });
      expect(JSON.stringify(of('triangularIndex').reviewed)).toContain('20 min');
    }
    expect(reportBody(made.data)).toContain('needs 20 min of readable time');
  });

  test('a second run gives the same numbers', () => {
    expect(reportJson(reportData(inputOf(sessions)).data)).toBe(reportJson(made.data));
  });

  test('another seed moves the bootstrap and nothing else', () => {
    const input = inputOf(sessions);
    const statistics = { ...input.settings.statistics, bootstrap: { ...input.settings.statistics.bootstrap, seed: 2 } };
    const clocks = Object.fromEntries(made.data.clocks.map(c => [c.session, { 'adhesive-logger': c.clock! }]));
    const other = reportData({ ...input, settings: { ...input.settings, statistics, clocks } }).data;
    const values = (data: typeof other) => data.numbers.quality.map(q => [q.right, q.pooled.value, q.pooledClustered]);
    expect(values(other)).toEqual(values(made.data));
    expect(other.numbers.quality[0]!.pooledBootstrap).not.toEqual(made.data.numbers.quality[0]!.pooledBootstrap);
  });

  test('a session without a finished review enters no number and is named', () => {
    const [first, ...rest] = sessions;
    const open = { session: first!.session, logs: first!.logs.map(l => ({ ...l, entries: l.entries.slice(0, -1) })) };
    const input = inputOf([open, ...rest]);
    const { data } = reportData(input);
    expect(data.volunteers).toEqual(volunteers.slice(1));
    expect(data.sessions[0]).toMatchObject({ volunteer: 'V01', source: null });
    expect(data.cautions.join(' ')).toContain('V01 (V01-study-2)');
    const letIn = reportData({ ...input, settings: { ...input.settings, includeUnfinished: true } }).data;
    expect(letIn.sessions[0]).toMatchObject({ source: 'R1, not finished' });
  });

  test('a segment that is not final enters no number over volunteers, and the text says so', () => {
    // The first review loses its last entries: it is not finished, and what they covered was not looked at.
    const [first, ...rest] = sessions.slice(0, 4);
    const log = first!.logs.find(l => l.header.role === 'rater')!;
    const part = { header: log.header, entries: log.entries.slice(0, Math.floor(log.entries.length / 3)) };
    const input = inputOf([{ session: first!.session, logs: [part] }, ...rest]);
    const { data } = reportData({ ...input, settings: { ...input.settings, includeUnfinished: true } });
    const own = data.segments.filter(s => s.session === first!.session.id);
    const open = own.filter(s => s.standing.status !== 'final');
    expect(open.length).toBeGreaterThan(0);
    for (const row of open) {
      const cell = data.numbers.quality.find(q => q.recorder === row.recorder && q.activity === row.activity)!;
      expect(cell.perVolunteer.map(v => v.volunteer)).not.toContain(row.volunteer);
      const isRow = (e: { volunteer: string; recorder: string; activity: string }) =>
        e.volunteer === row.volunteer && e.recorder === row.recorder && e.activity === row.activity;
      expect(data.hrv.effects.some(isRow)).toBe(false);
    }
    const words = `${open.length} of ${data.segments.length}`;
    expect(data.cautions.join(' ')).toContain(`left out of the numbers over volunteers: ${words} segments`);
    expect(JSON.stringify(data.methods)).toContain(`are left out of the numbers over volunteers: ${words}`);
    expect(JSON.stringify(data.methods)).toContain('Marks were looked at by eye');
    expect(JSON.stringify(made.data.methods)).toContain('Every mark was looked at by eye');
  });

  test('volunteers and hours add up from step to step, each loss with its reason', () => {
    // V01 is not finished, of V02 nothing was looked at before somebody finished it, and one session is not here.
    const [first, second, ...rest] = sessions;
    const cut = (s: ReviewedSession, n: number) => ({
      header: s.logs[0]!.header,
      entries: s.logs[0]!.entries.slice(0, n),
    });
    const input = inputOf([{ session: first!.session, logs: [cut(first!, 10)] }, { ...second!, logs: [] }, ...rest]);
    const ids = [...sessions.map(s => s.session.id), 'V09-study'];
    const study: Study = { ...demoStudy, sessions: ids };
    const { data } = reportData({ ...input, study });
    expect(data.flow.map(s => [s.step, s.volunteers])).toEqual([
      ['enrolled', 9],
      ['recorded', 8],
      ['reviewed', 6],
      ['analysed', 6],
    ]);
    for (const [i, step] of data.flow.entries()) {
      if (i > 0) expect(step.sessions + step.lost.length).toBe(data.flow[i - 1]!.sessions);
    }
    expect(data.flow.flatMap(s => s.lost.map(l => [l.session, l.reason]))).toEqual([
      ['V09-study', 'the session is not here'],
      [first!.session.id, 'no finished review'],
      [second!.session.id, 'no finished review'],
    ]);
    const hours = (list: readonly ReviewedSession[]) =>
      list.flatMap(s => s.session.recordings).reduce((n, { recording: r }) => n + r.sampleCount / r.samplingRateHz, 0) /
      3600;
    expect(data.flow[1]!.hours).toBeCloseTo(hours(sessions), 9);
    expect(data.flow[3]!.hours).toBeCloseTo(hours(rest), 9);
    expect(data.methods[0]!.text).toContain(`6 volunteers`);
    expect(data.methods[0]!.text).toContain(
      `; ${hours(rest).toFixed(1)} h of recording in all. Of 9 volunteers enrolled`,
    );
  });

  test('the study names the rater whose review counts, and the report prints it', () => {
    const study: Study = { ...demoStudy, sessions: sessions.map(s => s.session.id), countedRater: 'R2' };
    const { data } = reportData({ ...inputOf(sessions), study });
    const byR2 = sessions.filter(s => s.logs.some(l => l.header.rater === 'R2' || l.header.role === 'adjudicator'));
    expect(byR2.length).toBeGreaterThan(0);
    expect(byR2.length).toBeLessThan(sessions.length);
    expect(data.volunteers).toEqual(byR2.map(s => s.session.participant));
    expect(data.flow[2]!.lost.map(l => l.reason)).toContain('no adjudicated review, and no finished one by R2');
    expect(data.methods[1]!.text).toContain('the adjudicated review counts, else that of R2.');
    expect(made.data.methods[1]!.text).toContain('else that of the rater first by code.');
    expect(reportBody(data)).toContain('R2');
  });

  test('of nothing is a report that says so', () => {
    const { data } = reportData(inputOf([]));
    expect(data.numbers.quality).toEqual([]);
    expect(reportBody(data)).toContain('No review is counted');
  });

  test('without a finished review nothing is said to have been looked at, and no table stands without a row', () => {
    const [first] = sessions;
    const { data } = reportData(inputOf([{ ...first!, logs: [] }]));
    expect(data.methods.map(m => m.text)).toEqual([
      expect.stringMatching(
        /^No review counts here\. Of 1 volunteer enrolled, 1 was recorded \(\d\.\d h\), 0 were reviewed .* left out: V01 \(no finished review\)/,
      ),
    ]);
    const html = reportBody(data);
    expect(html).not.toContain('looked at by eye on the ECG');
    expect(html).not.toMatch(/<tbody>\s*<\/tbody>/);
    expect(html).not.toMatch(/\b0\.0 %/);
  });
});

describe('the report’s files', () => {
  test('have a figure with words and data for everything drawn, and every text escaped', () => {
    const named = sessions.map((s, i) =>
      i === 0 ? { ...s, session: { ...s.session, participant: '<b>V01 & "1"' } } : s,
    );
    const prepared = reportData(inputOf(named));
    const files = reportFiles(
      withStrips(
        prepared,
        prepared.strips.map(() => [0, 0.5, 0]),
      ),
    );
    const html = files.find(f => f.path === 'report.html')!.text;
    expect(html).not.toContain('<b>');
    const svgs = files.filter(f => f.path.endsWith('.svg'));
    // Each is drawn again for one column, from the same data.
    const narrow = svgs.filter(f => f.path.endsWith('-85mm.svg'));
    expect(narrow).toHaveLength(23);
    expect(svgs).toHaveLength(2 * narrow.length);
    for (const { path, text } of svgs) {
      expect(text).toMatch(/<title id="[^"]+">[^<]+<\/title><desc id="[^"]+">[^<]{40,}<\/desc>/);
      expect(text).not.toMatch(/NaN|undefined|Infinity|style=/);
      expect(files.some(f => f.path === path.replace(/(-85mm)?\.svg$/, '.csv'))).toBe(true);
    }
    expect(html).not.toMatch(/NaN|undefined|Infinity|style=/);
    expect(html).not.toMatch(/(src|href)="/);
  });

  test('have in every table a name for each column, and numbers of the report under their names', () => {
    const { data } = made;
    const table = (name: string) => csvParseRows(files.find(f => f.path === name)!.text);
    for (const { path, text } of files.filter(f => f.path.endsWith('.csv'))) {
      const [head, ...rows] = csvParseRows(text);
      expect(new Set(head).size, path).toBe(head!.length);
      for (const name of head!) expect(name, path).not.toBe('');
      for (const row of rows) expect(row.length, path).toBe(head!.length);
    }
    const column = (name: string, of: string) => {
      const [head, ...rows] = table(name);
      return rows.map(r => r[head!.indexOf(of)]);
    };
    const { differences, quality } = data.numbers;
    expect(differences.length).toBeGreaterThan(0);
    const text = (v: number | null | undefined) => (v === null || v === undefined ? '' : String(v));
    const ends = (e: Estimate) => (e.value === null ? null : e.interval);
    expect(column('differences.csv', 'pooled_points')).toEqual(differences.map(d => text(d.pooledBootstrap.value)));
    for (const [side, end] of [
      [0, 'low'],
      [1, 'high'],
    ] as const) {
      const of = (list: readonly Estimate[]) => list.map(e => text(ends(e)?.[side]));
      expect(column('differences.csv', `bootstrap_t_${end}`)).toEqual(of(differences.map(d => d.pooledBootstrapT)));
      expect(column('differences.csv', `jackknife_${end}`)).toEqual(of(differences.map(d => d.pooledJackknife)));
      expect(column('quality.csv', `bootstrap_t_${end}`)).toEqual(of(quality.map(q => q.pooledBootstrapT)));
      expect(column('quality.csv', `clustered_${end}`)).toEqual(of(quality.map(q => q.pooledClustered)));
      expect(column('quality.csv', `jackknife_${end}`)).toEqual(of(quality.map(q => q.pooledJackknife)));
      expect(column('differences.csv', `clustered_${end}`)).toEqual(of(differences.map(d => d.pooledClustered)));
    }
  });

  test('have a codebook with every column of every exported table, whose cells are of the type it says', () => {
    const tables = files.filter(f => f.path.endsWith('.csv'));
    const [head, ...lines] = csvParseRows(files.find(f => f.path === 'codebook.csv')!.text);
    expect(head).toEqual(['file', 'column', 'meaning', 'unit', 'type', 'source']);
    const isOf: Readonly<Record<string, RegExp>> = {
      text: /^/,
      'yes or no': /^(yes|no)?$/,
      number: /^(-?\d+(\.\d+)?(e[+-]?\d+)?)?$/,
      'whole number': /^\d*$/,
    };
    for (const { path, text } of tables) {
      const own = lines.filter(([file]) => file === path);
      const [columns, ...rows] = csvParseRows(text);
      expect(
        own.map(([, column]) => column),
        path,
      ).toEqual(columns);
      for (const [i, [, column, meaning, , type, source]] of own.entries()) {
        expect(meaning!.length, `${path} ${column}`).toBeGreaterThan(3);
        expect(source!.length, `${path} ${column}`).toBeGreaterThan(3);
        const odd = rows.map(row => row[i]!).filter(cell => !isOf[type!]!.test(cell));
        expect(odd, `${path} ${column} is ${type}`).toEqual([]);
      }
    }
    expect(new Set(lines.map(([file]) => file))).toEqual(new Set(tables.map(f => f.path)));
  });

  test('have the quality once more with one number and one interval a row', () => {
    const [head, ...rows] = csvParseRows(files.find(f => f.path === 'quality-tidy.csv')!.text);
    const at = (row: string[], name: string) => row[head!.indexOf(name)]!;
    for (const q of made.data.numbers.quality) {
      const own = rows.filter(r => at(r, 'recorder') === q.recorder && at(r, 'activity') === (q.activity ?? 'all'));
      const chief = own.find(r => at(r, 'interval_method') === 'effective sample size')!;
      if (q.pooledClustered.value === null) throw new Error('no interval');
      expect([at(chief, 'percent'), at(chief, 'low'), at(chief, 'high')].map(Number)).toEqual([
        q.pooled.value,
        ...q.pooledClustered.interval!,
      ]);
      expect(own.filter(r => at(r, 'volunteer') !== 'all')).toHaveLength(q.perVolunteer.length);
    }
  });
});
