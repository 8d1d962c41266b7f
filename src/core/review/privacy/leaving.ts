import type { Origin, Recording } from '../../recording/recording';
import type { ReviewedSession, Session, SessionRecording } from '../session';
import type { Handling } from './identifying';
import { rewrittenLogs } from './leaving-log';
import { type LeavingTogether, type ShownNames, shiftedDay, shownNames } from './leaving-names';

/** What stands for a participant code that was left out: EDF+'s own sign for unknown. */
const noCode = 'X';

/** A session as it leaves, and what its parts are called in it. */
export interface Leaving extends ReviewedSession {
  readonly names: ShownNames;
}

/**
 * The session and its logs as they are to be handed on, the one place that decides what of them identifies: every export
 * goes through it. Marks, words and settings stay as they are. Logs are tied to ids and times, so where these change each
 * is written again, with a chain of its own. `together`: what it leaves with, when not alone.
 */
export function leaving(reviewed: ReviewedSession, handling: Handling, together = alone(reviewed)): Leaving {
  const names = shownNames(reviewed.session, together, handling);
  const session = sessionAs(reviewed.session, handling, names);
  const { dates, codes, names: named, remarks } = handling;
  const sameLogs = dates === 'keep' && codes === 'keep' && named === 'keep' && remarks === 'keep';
  return { session, logs: sameLogs ? reviewed.logs : rewrittenLogs(reviewed.logs, session, handling, names), names };
}

const alone = ({ session, logs }: ReviewedSession): LeavingTogether => {
  return { sessions: [session], raters: logs.map(log => log.header.rater), study: null };
};

function sessionAs(session: Session, handling: Handling, names: ShownNames): Session {
  const shown = names.inStudy ?? { session: 'session', participant: noCode, title: 'Session' };
  const { session: id, participant, title } = shown;
  const codes = handling.codes === 'drop' ? { id, participant, title } : {};
  const samples = session.samples?.map(s => {
    return {
      ...s,
      recording: names.recording(s.recording),
      plan: { ...s.plan, segment: names.segment(s.plan.segment) },
    };
  });
  return {
    ...session,
    ...codes,
    ...(samples && { samples }),
    recordings: session.recordings.map(item => itemAs(item, handling, names)),
  };
}

function itemAs(item: SessionRecording, handling: Handling, names: ShownNames): SessionRecording {
  const { recording, segments } = item;
  const hidesOrigin = handling.sources === 'drop' || handling.names === 'drop';
  return {
    ...item,
    recording: {
      ...recordingAs(recording, handling),
      id: names.recording(recording.id),
      recorder: names.recorder(recording.recorder),
    },
    detectedBy: hidesOrigin ? originOfMarks(item, handling) : item.detectedBy,
    segments: segments.map(s => ({ ...s, name: names.segment(s.name) })),
  };
}

/** Marks read from a list are said to come from its file. */
function originOfMarks({ recording, detectedBy }: SessionRecording, { names }: Handling): string {
  if (/^(built-in|simulated) detector( \d+)?$/.test(detectedBy)) return detectedBy;
  const own = detectedBy.startsWith(recording.recorder) || detectedBy.startsWith('the recorder');
  return own ? (names === 'drop' ? 'the recorder' : detectedBy) : 'a list of marks';
}

/** Units that say nothing but how the signal was scaled. */
const plainUnit = /^[munµμ]?V$/i;

function recordingAs(recording: Recording, { dates, sources, names }: Handling): Recording {
  const { origin, startedAt, utcOffsetMinutes: _, ...rest } = recording;
  const leads = recording.leads.map((lead, i) => {
    return { ...lead, name: `lead ${i + 1}`, fileUnit: plainUnit.test(lead.fileUnit) ? lead.fileUnit : '' };
  });
  const day = startedAt !== null && typeof dates !== 'string' ? shiftedDay(startedAt, dates.shiftDays) : startedAt;
  return {
    ...(dates === 'drop' ? { ...rest, startedAt: null } : { ...recording, startedAt: day }),
    ...(sources === 'keep' ? origin && { origin } : { source: '', ...(origin && { origin: originAs(origin) }) }),
    ...(names === 'drop' ? { leads } : {}),
  };
}

/** The checksum leads to the file, and doubts quote from it: their number is kept. */
function originAs({ format, signalSha256, doubts, leftOut }: Origin): Origin {
  const counted = (texts: readonly string[]) => (texts.length === 0 ? [] : [`${texts.length}, wording left out`]);
  return { format, fileSha256: '', signalSha256, doubts: counted(doubts), leftOut: counted(leftOut) };
}
