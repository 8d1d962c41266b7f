import { utf8ToBytes } from '@noble/hashes/utils.js';
import {
  asWritten,
  canonicalJson,
  detectedChecksum,
  type EditLog,
  type LogHeader,
  replay,
  sha256Hex,
  verifyChain,
  type WrittenEntry,
} from '../../marks/log';
import { upgradeEntry } from '../../marks/upgrade-entry';
import { detectedOf } from '../session';
import type { EdgeGrading } from './edges';
import { type GradeSummary, gradeReview, secondsAtWork } from './practice';
import { type LessonName, type PracticeLesson, simulatedLesson } from './practice-lesson';

/** What a learner hands in: enough to grade the lesson again from its seed. */
export interface PracticeResults {
  readonly format: 'practice-results';
  /** 2 when its log may hold entries of version 2, 3 when it says which attempt it is, 4 when edges count by overlap. */
  readonly version: 1 | 2 | 3 | 4;
  readonly lesson: LessonName;
  readonly learner: string;
  /** Its entries as they were written. */
  readonly log: { readonly header: LogHeader; readonly entries: readonly WrittenEntry[] };
  /** Hash of the log's last entry; null for a log without entries. */
  readonly logHash: string | null;
  readonly grade: GradeSummary;
  /** Seconds at work; null when the log does not tell. */
  readonly seconds: number | null;
  /**
   * Attempts at this lesson on the learner's device, this one last; from version 3 on. The log of an earlier attempt is
   * gone, so its points are as that device kept them. From version 4 on those of this one are counted again.
   */
  readonly attempts?: readonly PracticeAttempt[];
  /** SHA-256 of the canonical JSON of everything else. */
  readonly checksum: string;
}

export interface PracticeAttempt {
  /** When it was finished or discarded, ISO 8601. */
  readonly at: string;
  /** Null when it was discarded before it was graded. */
  readonly points: number | null;
}

/** How a results file grades the edges of unreadable stretches. */
export function edgesOfVersion(version: PracticeResults['version']): EdgeGrading {
  return version >= 4 ? 'overlap' : 'half';
}

/**
 * The results of a learner's log of a lesson. Throws a RangeError when the log does not fit the lesson.
 *
 * @param earlier attempts at this lesson before this one; version 3 has them with this one, which version 4 adds
 */
export function practiceResults(
  lesson: PracticeLesson,
  log: EditLog,
  earlier: readonly PracticeAttempt[] = [],
  version: PracticeResults['version'] = 4,
): PracticeResults {
  const review = replay(log, detectedOf(lesson.session)).recordings.get(lesson.item.recording.id)!;
  const { item, key, session } = lesson;
  const grade = gradeReview(item, key, review, session.settings, edgesOfVersion(version)).summary;
  const own = { at: log.entries.at(-1)?.at ?? '', points: grade.points };
  const body = {
    format: 'practice-results' as const,
    version,
    lesson: lesson.name,
    learner: log.header.rater,
    log: { header: log.header, entries: log.entries.map(asWritten) },
    logHash: log.entries.at(-1)?.hash ?? null,
    grade,
    seconds: secondsAtWork(log.entries.map(e => e.at)).value,
    ...(version >= 3 ? { attempts: version === 3 ? earlier : [...earlier, own] } : {}),
  };
  return { ...body, checksum: checksumOf(body) };
}

/** The file: canonical JSON, so equal results have equal bytes. */
export function resultsText(results: PracticeResults): string {
  return `${canonicalJson(results)}\n`;
}

function checksumOf(body: Omit<PracticeResults, 'checksum'>): string {
  return sha256Hex(utf8ToBytes(canonicalJson(body)));
}

export type CheckedResults =
  | { readonly ok: true; readonly results: PracticeResults }
  /** `why` says in a sentence what is wrong with the file. */
  | { readonly ok: false; readonly why: string };

/**
 * Checks a file handed in: whole, made for the lesson it names, and graded as it says. The grade is computed again from
 * the log and the lesson's seed. `lessonOf` makes the lesson; it throws a RangeError when there is none of that name.
 */
export function checkResults(
  text: string,
  lessonOf: (name: LessonName) => PracticeLesson = simulatedLesson,
): CheckedResults {
  const results = parse(text);
  if (!results) return no('This is not a results file of a practice lesson.');
  const { checksum, ...body } = results;
  if (checksum !== checksumOf(body)) return no('The file was changed after it was written: its checksum is wrong.');
  try {
    return checkAgainst(results, lessonOf(results.lesson));
  } catch (error) {
    if (error instanceof RangeError || error instanceof TypeError) return no(`It cannot be graded: ${error.message}.`);
    throw error;
  }
}

function checkAgainst(results: PracticeResults, lesson: PracticeLesson): CheckedResults {
  const log: EditLog = { header: results.log.header, entries: results.log.entries.map(upgradeEntry) };
  const detected = detectedChecksum(lesson.item.detected);
  if (log.header.session !== lesson.session.id || log.header.detected[lesson.item.recording.id] !== detected) {
    return no('The log belongs to another lesson than the file names.');
  }
  if (log.header.rater !== results.learner) return no(`The log is signed by ${log.header.rater}.`);
  const chain = verifyChain(log);
  if (!chain.ok) return no(`The log is damaged: ${chain.why}.`);
  const { version, attempts = [] } = results;
  const again = practiceResults(lesson, log, version === 3 ? attempts : attempts.slice(0, -1), version);
  if (canonicalJson(again) !== canonicalJson(results)) return no('The grade in the file is not what its log comes to.');
  return { ok: true, results };
}

function no(why: string): CheckedResults {
  return { ok: false, why };
}

function parse(text: string): PracticeResults | null {
  try {
    const value = JSON.parse(text) as Partial<PracticeResults> | null;
    if (value?.format !== 'practice-results' || ![1, 2, 3, 4].includes(value.version ?? 0)) return null;
    if (value.version! >= 3 && !areAttempts(value.attempts)) return null;
    const whole = value.lesson && Array.isArray(value.log?.entries) && value.log.header && value.grade;
    return whole ? (value as PracticeResults) : null;
  } catch {
    return null;
  }
}

function areAttempts(value: unknown): boolean {
  return (
    Array.isArray(value) &&
    value.length > 0 &&
    value.every(a => typeof a?.at === 'string' && (a.points === null || typeof a.points === 'number'))
  );
}
