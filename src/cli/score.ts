import { defaultMatchSettings } from '../core/marks/match';
import type { Segment } from '../core/recording/recording';
import { type SessionScore, sessionScores } from '../core/report/session-scores';
import { isBlind } from '../core/review/raters/blind';
import { codesBefore } from '../core/review/raters/reassign';
import { sampledCountWords, sampledQualityWords, sampledWords } from '../core/review/standing/sampled-words';
import { standingRow } from '../core/review/standing/standing-words';
import { type ScoreReport, type ScoreRow, scoreReport } from '../core/score/measures';
import { type RecordingScore, scoreRecording } from '../core/score/score';
import { span } from '../core/units';
import { type OpenedBundle, readBundle } from '../formats/bundle/reader';
import { overlapping } from '../formats/text/segments';
import { type CliCommand, type Given, numberFlag, type Output, textFlag, UsageError } from './command';
import { openFile } from './files';
import { FindingsLog, strictFlag } from './findings';
import { readMarkList, readSegmentList, readSpans } from './lists';
import { manyFlags } from './many/flags';
import { madeFrom, provenanceFlag, writeProvenance } from './provenance';
import { scoreTable } from './score-table';

export const scoreCommand: CliCommand = {
  name: 'score',
  summary: 'quality of detected marks against reviewed ones, per segment',
  usage: [
    'score --rate HZ --detected d.csv --reviewed r.csv [--unreadable u.csv] [--segments s.csv] [more flags]',
    'score BUNDLE.zip [--rater CODE] [--json]',
    'score BUNDLE.zip... --out DIR [--rater CODE] [--jobs N] [--json]',
  ],
  flags: {
    rate: { value: 'HZ', about: 'sampling rate that the sample indices count in' },
    detected: { value: 'CSV', about: "the recorder's marks: one column sample, 0-based" },
    reviewed: { value: 'CSV', about: 'where the beats are: one column sample' },
    unreadable: { value: 'CSV', about: 'columns start,end in samples, half-open' },
    segments: { value: 'CSV', about: 'columns name,start,end in samples, half-open; else one segment "whole"' },
    'tolerance-ms': { value: 'MS', about: 'a mark this close to a beat is on its peak (default 50)' },
    'window-ms': { value: 'MS', about: 'a mark this close to a beat nobody found is on a wrong peak (default 400)' },
    length: { value: 'SAMPLES', about: 'where "whole" ends; else one past the last mark, beat or end of a span' },
    rater: { value: 'CODE', about: 'of a bundle: only the log of this rater' },
    ...strictFlag,
    ...provenanceFlag,
    ...manyFlags,
    json: { about: 'results as JSON; what cannot be computed is null with a reason' },
  },
  examples: [
    'score --rate 360 --detected d.csv --reviewed r.csv',
    'score --rate 360 --detected d.csv --reviewed r.csv --unreadable u.csv --segments s.csv --json',
    'score session.zip --rater R1',
  ],
  details:
    'CSV files may have a header (then columns are found by name), a byte order mark, CR LF, and # comment lines.',
  many: { ending: given => (given.flags['json'] ? 'json' : 'txt') },
  async run(given, output) {
    if (given.files.length > 1)
      throw new UsageError(`score takes one bundle, not ${given.files.length} files, or many with --out DIR`);
    return given.files.length === 1 ? scoreBundle(given, output) : scoreTables(given, output);
  },
};

function scoreTables(given: Given, output: Output): undefined {
  if (textFlag(given, 'rater') !== undefined) throw new UsageError('--rater goes with a bundle');
  const found = new FindingsLog(output);
  const score = scoreRecording(scoreInput(given, found));
  found.refuseIfStrict(given);
  writeProvenance(scoreCommand, given, found);
  const { onPeakToleranceMs, wrongPeakWindowMs } = score.input.settings;
  if (given.flags['json']) {
    const provenance = madeFrom(scoreCommand, given, found);
    return void output.print(
      JSON.stringify({ ...reviewedInFull(scoreReport(score)), ...found.all, provenance }, null, 2),
    );
  }
  output.print(scoreTable(score));
  output.print(`\n${score.input.samplingRateHz} Hz, tolerance ${onPeakToleranceMs} ms, window ${wrongPeakWindowMs} ms`);
}

/** Plain lists say nothing of what was looked at: whoever gives them has reviewed all of it. */
function reviewedInFull(report: ScoreReport): ScoreReport {
  const full = standingRow({ status: 'final', lookedAtShare: 1 });
  const row = (r: ScoreRow): ScoreRow => ({ ...r, ...full });
  return { ...report, segments: report.segments.map(row), total: row(report.total) };
}

function scoreInput(given: Given, found: FindingsLog): Parameters<typeof scoreRecording>[0] {
  const note = (text: string) => found.add({ doubts: [text] });
  const samplingRateHz = numberFlag(given, 'rate', 0, true);
  const detectedPath = textFlag(given, 'detected');
  const reviewedPath = textFlag(given, 'reviewed');
  if (samplingRateHz === undefined || !detectedPath || !reviewedPath) {
    throw new UsageError('score needs a bundle, or --rate, --detected and --reviewed');
  }
  const marks = readMarkList(detectedPath, note);
  const beats = readMarkList(reviewedPath, note);
  found.addFile(detectedPath, 'list of marks');
  found.addFile(reviewedPath, 'list of beats');
  const unreadablePath = textFlag(given, 'unreadable');
  if (unreadablePath) found.addFile(unreadablePath, 'list of spans');
  const unreadable = unreadablePath ? readSpans(unreadablePath) : [];
  const last = Math.max(beats.at(-1) ?? -1, marks.at(-1) ?? -1, unreadable.at(-1)?.end ?? -1);
  return {
    beats,
    marks,
    unreadable,
    gaps: [],
    segments: segmentsOf(given, last + 1, found),
    samplingRateHz,
    settings: {
      onPeakToleranceMs: numberFlag(given, 'tolerance-ms', 0) ?? defaultMatchSettings.onPeakToleranceMs,
      wrongPeakWindowMs: numberFlag(given, 'window-ms', 0) ?? defaultMatchSettings.wrongPeakWindowMs,
    },
  };
}

function segmentsOf(given: Given, end: number, found: FindingsLog): Segment[] {
  const length = numberFlag(given, 'length', 0, true);
  if (length !== undefined && !Number.isSafeInteger(length))
    throw new UsageError('--length needs a whole number of samples');
  const path = textFlag(given, 'segments');
  if (!path) return [{ name: 'whole', ...span(0, length ?? end) }];
  if (length !== undefined) throw new UsageError('--length goes without --segments');
  const segments = readSegmentList(path);
  found.addFile(path, 'list of segments');
  const words = (a: Segment, b: Segment) =>
    `segments ${a.name} and ${b.name} overlap: the total counts that part twice`;
  found.add({ doubts: overlapping(segments).map(([a, b]) => words(a, b)) });
  return segments;
}

async function scoreBundle(given: Given, output: Output): Promise<undefined> {
  const stray = ['rate', 'detected', 'reviewed', 'unreadable', 'segments', 'tolerance-ms', 'window-ms', 'length'].find(
    name => given.flags[name] !== undefined,
  );
  if (stray) throw new UsageError(`--${stray} does not go with a bundle, which carries its own`);
  const bundle = await readBundle(openFile(given.files[0]!));
  const found = new FindingsLog(output);
  found.addFile(given.files[0]!, 'session bundle');
  found.addBundle(bundle);
  found.refuseIfStrict(given);
  const scores = chosenScores(bundle, textFlag(given, 'rater'));
  writeProvenance(scoreCommand, given, found);
  if (given.flags['json']) {
    const provenance = madeFrom(scoreCommand, given, found);
    output.print(JSON.stringify({ ...bundleReport(bundle, scores), ...found.all, provenance }, null, 2));
  } else output.print(bundleText(bundle, scores));
}

function chosenScores({ reviewed, damaged }: OpenedBundle, rater: string | undefined): SessionScore[] {
  const raters = reviewed.logs.map(log => log.header.rater);
  if (rater !== undefined && damaged.some(d => d.rater === rater)) {
    throw new UsageError(`the log of ${rater} is damaged and cannot be scored`);
  }
  if (rater !== undefined && !raters.includes(rater)) {
    throw new UsageError(`no log of rater ${rater}; the bundle has ${raters.join(', ') || 'none'}`);
  }
  if (raters.length === 0 && damaged.length > 0) {
    const all = damaged.map(d => d.rater).join(' and ');
    throw new UsageError(`the log of ${all} is damaged and the bundle has no other: there is nothing to score`);
  }
  return sessionScores(reviewed, rater);
}

function bundleReport({ reviewed, damaged }: OpenedBundle, scores: readonly SessionScore[]) {
  const { id, title, participant, settings } = reviewed.session;
  return {
    session: { id, title, participant, settings },
    logs: reviewed.logs.map(log => {
      const { rater, role } = log.header;
      return { rater, role, blind: isBlind(log), reassignedFrom: codesBefore(log), entries: log.entries.length };
    }),
    damagedLogs: damaged.map(({ rater, seq, why }) => ({ rater, entry: seq, why })),
    scores: scores.map(({ rater, role, finished, recordingId, recorder, report }) => {
      return { rater, role, finished, recording: recordingId, recorder, ...report };
    }),
  };
}

function bundleText({ reviewed }: OpenedBundle, scores: readonly SessionScore[]): string {
  const { title, settings } = reviewed.session;
  const { onPeakToleranceMs, wrongPeakWindowMs } = settings;
  const head = `${title} (tolerance ${onPeakToleranceMs} ms, window ${wrongPeakWindowMs} ms)`;
  if (scores.length === 0) return `${head}\n\nNo rater's log: there is nothing to score.`;
  return [head, ...scores.map(s => [`\n${scoreTitle(s)}`, scoreTable(s.score), ...sampledLines(s)].join('\n'))].join(
    '\n',
  );
}

/** Sampled numbers below the table, whose rows are about the stretches that were looked at. */
function sampledLines({ sampled }: SessionScore): string[] {
  return sampled.flatMap(({ whole, segments }) => {
    const rows = segments.length === 1 ? [] : segments.map(s => s.number);
    return [whole, ...rows].map(n => {
      const of = n.segment ?? 'all segments';
      return `${of}: ${sampledWords(n)}: quality ${sampledQualityWords(n)}; ${sampledCountWords(n)}; seed ${n.seed}`;
    });
  });
}

function scoreTitle({ rater, role, finished, blind, reassignedFrom, recorder, score }: SessionScore): string {
  const moved = reassignedFrom.length > 0 ? `, reassigned from ${reassignedFrom.join(' and ')}` : '';
  const state = `${finished ? 'signed off' : 'not signed off'}${moved}${blind ? '' : ', not blind'}`;
  return `log of ${rater} (${role}, ${state}), ${recorder}, ${(score as RecordingScore).input.samplingRateHz} Hz`;
}
