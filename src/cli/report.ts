import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { amount } from '../core/amount';
import { detectorName } from '../core/detector/name';
import { defaultMatchSettings } from '../core/marks/match';
import { piecesOf, readAcross, wordsBefore, zeroWord } from '../core/recording/pieces';
import type { ExampleStrip } from '../core/report/example-strips';
import { reportData, reportFormat, withStrips } from '../core/report/report';
import type { ReportSettings } from '../core/report/rows';
import { type SecondDetector, secondOfAll } from '../core/report/second-detector';
import { defaultStudySettings } from '../core/report/study-numbers';
import { type Handling, keepAll } from '../core/review/privacy/identifying';
import type { Study } from '../core/review/study/study';
import { type OpenedBundle, readBundle } from '../formats/bundle/reader';
import { isStudyBundle, readStudy, type StudyClocks } from '../formats/bundle/study';
import { memorySink } from '../formats/bytes/memory-sink';
import { makeSamples } from '../formats/timeline';
import { type ReportFile, reportFiles } from '../report/files';
import { leadStretch, millivolts } from '../report/strip-signal';
import { type CliCommand, type Given, numberFlag, type Output, textFlag, UsageError } from './command';
import { detectLeads } from './detect';
import { openFile, readJson } from './files';
import { FindingsLog, strictFlag } from './findings';
import { writeWhole } from './whole';

export const reportCommand: CliCommand = {
  name: 'report',
  summary: 'report on a study: HTML, figures, and every number as JSON and CSV',
  usage: ['report STUDY.zip --out DIR [flags]', 'report SESSION.zip SESSION.zip … --out DIR [flags]'],
  flags: {
    out: { value: 'DIR', about: 'folder to write into; made when absent, files of an earlier report are replaced' },
    title: { value: 'TEXT', about: "the report's title; else the study's or the session's" },
    like: { value: 'REPORT.json', about: 'all settings as in an earlier report, clocks that were set by hand too' },
    seed: { value: 'N', about: 'seed of the bootstrap and of the planning aid (default 1)' },
    draws: { value: 'N', about: 'draws of the bootstrap (default 2000)' },
    'width-points': { value: 'POINTS', about: 'interval width to plan for, in percentage points (default 5)' },
    ...strictFlag,
    json: { about: 'on stdout, the files written, and what was doubtful or left out' },
    'leave-out': {
      value: 'KINDS',
      about: 'of dates, sources, codes, names and remarks, with commas between, or all: what the report does not say',
    },
    'second-detector': {
      about: 'has the built-in detector go over the signals, blind to the marks: how far the reviews may lean on these',
    },
    unfinished: { about: 'counts reviews that are not finished, where a session has no finished one' },
  },
  examples: [
    'report study.zip --out report',
    'report V01.zip V02.zip V03.zip --out report --draws 5000',
    'report study.zip --out again --like report/report.json',
    'report study.zip --out to-publish --leave-out dates,sources,remarks',
  ],
  details: 'The same bundles and settings give the same bytes.',
  run: async (given, output) => writeReport(given, output),
};

async function writeReport(given: Given, output: Output): Promise<undefined> {
  const out = textFlag(given, 'out');
  if (!out) throw new UsageError('report needs --out DIR');
  if (given.files.length === 0) throw new UsageError('report needs a study bundle or session bundles');
  const found = new FindingsLog(output);
  const { study, clocks, bundles } = await openAll(given.files, found);
  const like = earlier(textFlag(given, 'like'));
  if (like?.secondDetector && like.secondDetector !== detectorName) {
    const doubt = `The earlier report used ${like.secondDetector}; this one uses the ${detectorName}, whose marks may differ.`;
    found.add({ doubts: [doubt] });
  }
  found.refuseIfStrict(given);
  const settings = settingsOf(given, study, clocks, bundles, like);
  const sessions = bundles.map(b => b.reviewed);
  const title =
    textFlag(given, 'title') ??
    study?.title ??
    (sessions.length === 1 ? sessions[0]!.session.title : 'Report on R-peak marks');
  const second = settings.secondDetector ? await secondOf(bundles) : undefined;
  const damagedLogs = new Map(bundles.map(b => [b.reviewed.session.id, b.damaged.length]));
  const prepared = reportData({ title, study, sessions, settings, damagedLogs, ...(second ? { second } : {}) });
  const signals: number[][] = [];
  for (const [i, strip] of prepared.strips.entries())
    signals.push(await signalOf({ ...strip, ...prepared.places[i]! }, bundles));
  const data = withStrips(prepared, signals);
  const made = reportFiles(data);
  const files = [...made.map(({ path, text }) => ({ path, text })), { path: sumsPath, text: sumsOf(made) }];
  const { stale, strange } = otherFigures(out, new Set(files.map(f => f.path)));
  writeWhole(
    files.map(({ path, text }) => ({ path: join(out, path), content: text })),
    true,
  );
  for (const path of stale) rmSync(path, { force: true });
  for (const path of strange) output.note(`${path} is not of this report and was left as it is`);
  for (const s of data.sessions)
    if (s.source === null)
      output.note(`${s.session} has no finished review${s.damagedLogs ? ' that is intact' : ''} and is not counted`);
  if (given.flags['json']) {
    return void output.print(JSON.stringify({ files: files.map(f => f.path), ...found.all }, null, 2));
  }
  output.print(
    `${amount(files.length, 'file')} in ${out}: ${amount(data.volunteers.length, 'volunteer')}, ${amount(data.segments.length, 'segment')}.`,
  );
}

/** What `sha256sum -c` reads: by it a later report knows the figures of this one from a person's own. */
const sumsPath = 'figures/SHA256SUMS';

function sumsOf(files: readonly ReportFile[]): string {
  const figures = files.filter(f => f.path.startsWith('figures/'));
  return figures.map(f => `${sha256(f.text)}  ${f.path.slice('figures/'.length)}\n`).join('');
}

const sha256 = (content: string | Uint8Array) => createHash('sha256').update(content).digest('hex');

/**
 * Figures in the folder that this report does not have: `stale` those of an earlier one, byte for byte as it wrote them, which
 * would pass for this one's; `strange` those under such a name that no report is known to have written.
 */
function otherFigures(out: string, written: ReadonlySet<string>): { stale: string[]; strange: string[] } {
  const folder = join(out, 'figures');
  if (!existsSync(folder)) return { stale: [], strange: [] };
  const sums = join(out, sumsPath);
  const known = new Set(existsSync(sums) ? readFileSync(sums, 'utf8').split('\n') : []);
  const others = readdirSync(folder, { withFileTypes: true })
    .filter(file => file.isFile() && /^figure-.*\.(svg|csv)$/.test(file.name) && !written.has(`figures/${file.name}`))
    .map(({ name }) => ({ path: join(folder, name), name }));
  const stale = others.filter(({ path, name }) => known.has(`${sha256(readFileSync(path))}  ${name}`));
  return { stale: stale.map(f => f.path), strange: others.filter(f => !stale.includes(f)).map(f => f.path) };
}

async function openAll(
  paths: readonly string[],
  found: FindingsLog,
): Promise<{ study: Study | null; clocks: StudyClocks; bundles: OpenedBundle[] }> {
  const bundles: OpenedBundle[] = [];
  const from: string[] = [];
  let study: Study | null = null;
  let clocks: StudyClocks = {};
  for (const path of paths) {
    const source = openFile(path);
    if (!(await isStudyBundle(source))) {
      bundles.push(await readBundle(source));
      from.push(path);
      continue;
    }
    if (study) throw new UsageError('report takes one study bundle');
    const opened = await readStudy(source);
    study = opened.study;
    clocks = opened.clocks;
    found.add({ doubts: opened.warnings }, paths.length > 1 ? path : null);
    for (const session of opened.sessions) {
      bundles.push(await readBundle(session.source));
      from.push(path);
    }
  }
  for (const bundle of bundles) found.addBundle(bundle, bundles.length > 1 ? bundle.reviewed.session.id : null);
  refuseTwice(bundles, from);
  return { study, clocks, bundles };
}

/** One session in two bundles: which of them to leave out, by what their logs say. */
function refuseTwice(bundles: readonly OpenedBundle[], from: readonly string[]): void {
  const ids = bundles.map(b => b.reviewed.session.id);
  const later = ids.findIndex((id, i) => ids.indexOf(id) < i);
  if (later < 0) return;
  const first = ids.indexOf(ids[later]!);
  const words = (i: number) => {
    const logs = bundles[i]!.reviewed.logs.map(
      l => `${l.header.rater} with ${amount(l.entries.length, 'entry', 'entries')}`,
    );
    return `${from[i]} (${logs.join(', ') || 'no log'})`;
  };
  throw new UsageError(
    `the session ${ids[later]} is given twice, in ${words(first)} and in ${words(later)}: leave one of them out`,
  );
}

/** Those of a study, else of the sessions, which must then agree. */
function settingsOf(
  given: Given,
  study: Study | null,
  clocks: StudyClocks,
  bundles: readonly OpenedBundle[],
  like: ReportSettings | undefined,
): ReportSettings {
  const own = bundles.map(b => b.reviewed.session.settings);
  if (!study && own.some(s => JSON.stringify(s) !== JSON.stringify(own[0]))) {
    throw new UsageError('the sessions were scored with different settings: give one study bundle, which has its own');
  }
  const start = like ?? {
    match: study?.settings ?? own[0] ?? defaultMatchSettings,
    statistics: defaultStudySettings,
    includeUnfinished: false,
    clocks,
  };
  const { bootstrap, planning } = start.statistics;
  const seed = wholeFlag(given, 'seed', 0);
  const handling = handlingFlag(given);
  return {
    ...start,
    ...(handling ? { handling } : {}),
    ...(given.flags['second-detector'] === true || start.secondDetector ? { secondDetector: detectorName } : {}),
    includeUnfinished: given.flags['unfinished'] === true || start.includeUnfinished,
    statistics: {
      bootstrap: {
        ...bootstrap,
        seed: seed ?? bootstrap.seed,
        draws: wholeFlag(given, 'draws', 100) ?? bootstrap.draws,
      },
      planning: {
        // An earlier version may have had fewer settings.
        ...defaultStudySettings.planning,
        ...planning,
        seed: seed ?? planning.seed,
        widthPercent: numberFlag(given, 'width-points', 0, true) ?? planning.widthPercent,
      },
    },
  };
}

/** Undefined without --leave-out. */
function handlingFlag(given: Given): Handling | undefined {
  const text = textFlag(given, 'leave-out');
  if (text === undefined) return undefined;
  const kinds = Object.keys(keepAll);
  const named = text === 'all' ? kinds : text.split(',');
  const unknown = named.find(kind => !kinds.includes(kind));
  if (unknown !== undefined) throw new UsageError(`--leave-out knows ${kinds.join(', ')} and all, not ${unknown}`);
  return { ...keepAll, ...Object.fromEntries(named.map(kind => [kind, 'drop'])) };
}

function wholeFlag(given: Given, name: string, min: number): number | undefined {
  const value = numberFlag(given, name, min);
  if (value !== undefined && !Number.isSafeInteger(value)) throw new UsageError(`--${name} needs a whole number`);
  return value;
}

function earlier(path: string | undefined): ReportSettings | undefined {
  if (path === undefined) return undefined;
  const json = readJson(path) as { format?: unknown; settings?: ReportSettings } | null;
  if (json?.format !== reportFormat || !json.settings)
    throw new UsageError(`${path} is not the report.json of a report`);
  return json.settings;
}

/** The second detector over every signal, one recording in memory at a time. */
function secondOf(bundles: readonly OpenedBundle[]): Promise<SecondDetector> {
  const sessions = bundles.map(b => b.reviewed.session);
  return secondOfAll(sessions, async (session, recording, numbers) => {
    const sink = memorySink();
    await bundles.find(b => b.reviewed.session.id === session)!.readRecording(recording.id, sink);
    const leads = recording.leads.map((lead, i) => sink.samples(i, zeroWord(lead)));
    return detectLeads({ recording, leads }, numbers);
  });
}

/** A lead is unpacked from its start, as a zip allows no other way. */
async function signalOf(strip: ExampleStrip, bundles: readonly OpenedBundle[]): Promise<number[]> {
  const bundle = bundles.find(b => b.reviewed.session.id === strip.session)!;
  const item = bundle.reviewed.session.recordings.find(r => r.recording.id === strip.recordingId)!;
  const lead = item.recording.leads[strip.lead];
  if (!lead) return [];
  const [from, to] = leadStretch(strip, lead);
  const pieces = piecesOf(lead);
  const [start, end] = [wordsBefore(pieces, from), wordsBefore(pieces, to)];
  const kept = makeSamples(lead.format, end - start);
  let at = 0;
  await bundle.readLead(strip.recordingId, strip.lead, words => {
    const part = words.subarray(Math.max(0, start - at), Math.max(0, end - at));
    if (part.length > 0) kept.set(part, Math.max(0, at - start));
    at += words.length;
  });
  return millivolts(await readAcross(pieces, from, to, zeroWord(lead), () => kept), lead);
}
