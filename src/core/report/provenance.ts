import { detectedChecksum, lastHash } from '../marks/log';
import type { MatchSettings } from '../marks/match';
import type { Origin } from '../recording/recording';
import type { ReviewedSession, SessionRecording } from '../review/session';
import { appName, appVersion } from './version';

/** What an export was made from: every export carries it. */
export interface Provenance {
  readonly writtenBy: string;
  readonly session: string;
  readonly settings: MatchSettings;
  readonly recordings: readonly RecordingFacts[];
  readonly reviews: readonly {
    readonly rater: string;
    readonly role: string;
    readonly entries: number;
    readonly lastHash: string;
  }[];
}

interface RecordingFacts {
  readonly id: string;
  readonly recorder: string;
  readonly samplingRateHz: number;
  readonly sampleCount: number;
  readonly startedAt: string | null;
  readonly source: string;
  /** Format, checksum and accepted doubts of the file; null in what was imported before these were kept. */
  readonly origin: Origin | null;
  readonly detectedBy: string;
  readonly detectedMarks: number;
  readonly detectedSha256: string;
}

export function recordingFacts({ recording, detected, detectedBy }: SessionRecording): RecordingFacts {
  const { id, recorder, samplingRateHz, sampleCount, startedAt, source, origin = null } = recording;
  const marks = { detectedBy, detectedMarks: detected.length, detectedSha256: detectedChecksum(detected) };
  return { id, recorder, samplingRateHz, sampleCount, startedAt, source, origin, ...marks };
}

/** `reviewed` as it leaves; with `recordingId` of that recording alone. */
export function provenanceOf({ session, logs }: ReviewedSession, recordingId?: string): Provenance {
  const items = session.recordings.filter(r => recordingId === undefined || r.recording.id === recordingId);
  return {
    writtenBy: `${appName} ${appVersion}`,
    session: session.id,
    settings: session.settings,
    recordings: items.map(recordingFacts),
    reviews: logs.map(log => {
      const { rater, role } = log.header;
      return { rater, role, entries: log.entries.length, lastHash: lastHash(log) };
    }),
  };
}

/** The same in short lines, for formats that hold text alone. */
export function provenanceLines({ writtenBy, session, settings, recordings, reviews }: Provenance): string[] {
  const { onPeakToleranceMs, wrongPeakWindowMs } = settings;
  return [
    `written by ${writtenBy}`,
    `session ${session}`,
    `on the peak within ${onPeakToleranceMs} ms, wrong peak within ${wrongPeakWindowMs} ms`,
    ...recordings.flatMap(linesOf),
    ...reviews.flatMap(r => [`review by ${r.rater} (${r.role}), ${r.entries} entries`, `last entry ${r.lastHash}`]),
  ];
}

function linesOf({ source, origin, detectedBy, detectedSha256 }: RecordingFacts): string[] {
  const { format = '', fileSha256 = '', doubts = [], leftOut = [] } = origin ?? {};
  const named = (name: string, value: string) => (value === '' ? [] : [`${name} ${value}`]);
  return [
    ...named('file', source || format),
    ...named('SHA-256 of the file', fileSha256),
    ...doubts.map(doubt => `doubtful, accepted: ${doubt}`),
    ...leftOut.map(what => `left out: ${what}`),
    ...named('marks by', detectedBy),
    `SHA-256 of the marks ${detectedSha256}`,
  ];
}
