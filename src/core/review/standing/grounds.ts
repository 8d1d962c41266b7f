import type { RecordingReview } from '../../marks/edit';
import { type EditLog, replay } from '../../marks/log';
import { union } from '../../marks/spans';
import type { Span } from '../../units';
import { compareRaters } from '../raters/compare';
import { unsettled } from '../raters/settle';
import { settledLogs } from '../raters/settled-logs';
import { detectedOf, type Session } from '../session';
import { type Looker, lookersOf } from './looked-at';
import type { Grounds } from './reviewed-score';

/** What the standing of one log's scores rests on, by recording. */
export interface LogGrounds {
  readonly lookers: readonly Looker[] | null;
  readonly of: (recordingId: string) => Grounds;
}

/** `log` replayed to `replayed`, among the `logs` of its session. */
export function groundsOf(
  session: Session,
  log: EditLog,
  replayed: { readonly recordings: ReadonlyMap<string, RecordingReview>; readonly finished: boolean },
  logs: readonly EditLog[],
): LogGrounds {
  const { recordings, finished } = replayed;
  const lookers = lookersOf(session, log, recordings, logs);
  const isOpen = log.header.role === 'adjudicator' && !finished && lookers !== null;
  const open = isOpen ? openDifferences(session, log, recordings, logs) : new Map<string, readonly Span[]>();
  return { lookers, of: id => ({ lookers, finished, open: open.get(id) ?? [] }) };
}

/** Where the two settled logs differ and nothing is settled yet, by recording. */
function openDifferences(
  session: Session,
  log: EditLog,
  recordings: ReadonlyMap<string, RecordingReview>,
  logs: readonly EditLog[],
): Map<string, readonly Span[]> {
  const settled = settledLogs(log, logs)!;
  const detected = detectedOf(session);
  const [a, b] = [replay(settled.a, detected).recordings, replay(settled.b, detected).recordings];
  const { settings } = session;
  return new Map(
    session.recordings.map(item => {
      const { id } = item.recording;
      const comparison = compareRaters({ item, a: a.get(id)!, b: b.get(id)!, settings });
      const territory = unsettled(comparison, recordings.get(id)!).flatMap(d => d.territory);
      return [id, union([], territory)] as const;
    }),
  );
}
