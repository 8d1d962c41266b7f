import type { Change } from '../../marks/edit';
import { advance, append, type EditLog, type Intent, newLog, startReplay } from '../../marks/log';
import type { KeyPlace } from '../../simulate/lesson-key';
import { addUnreadable, type Built, deleteMark, type Editing, insertMark, isRefusal } from '../edits';
import { detectedOf, logHeader } from '../session';
import type { PracticeLesson } from './practice-lesson';

type Act = readonly [intent: Intent, build: (e: Editing) => Built];

/** A lesson as it should be done: every planted mistake put right, then finished. The times are ten seconds apart. */
export function workedLog(lesson: PracticeLesson, learner: string): EditLog {
  const recording = lesson.item.recording.id;
  let log = newLog(logHeader(lesson.session, learner, 'learner'));
  let state = startReplay(detectedOf(lesson.session));
  const at = () => new Date(Date.UTC(2026, 0, 1, 0, 0, 10 * log.entries.length)).toISOString();
  for (const [intent, build] of lesson.key.places.flatMap(actsFor)) {
    const review = state.recordings.get(recording)!;
    const built = build({ item: lesson.item, review, finished: false });
    // Two places may share an act: the second one finds it done.
    if (built === null || isRefusal(built)) continue;
    const next = append(log, { at: at(), recording, intent, change: built as Change });
    log = next.log;
    state = advance(state, next.entry);
  }
  return append(log, { at: at(), recording: '', intent: 'finish', change: [] }).log;
}

/** An early beat is right as it is. */
function actsFor({ kind, span, beat, mark }: KeyPlace): Act[] {
  if (kind === 'ectopic') return [];
  if (kind === 'unreadable') return [['unreadable', e => addUnreadable(e, span)]];
  const acts: Act[] = [];
  if (mark !== null) acts.push(['delete', e => deleteMark(e, mark)]);
  if (beat !== null) acts.push(['insert', e => insertMark(e, beat)]);
  return acts;
}
