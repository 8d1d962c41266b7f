import type { ReviewWorkspace } from '../state/review/workspace';
import type { Command } from './command';

/** Whole groups of commands that a lesson does without, and why. */
const groups: Partial<Record<Command['group'], string>> = {
  'Suspicious places': 'A lesson points out no suspicious places: finding them is the task.',
  Sample: 'This lesson is not sampled: look at all of it.',
};

const beatsNotProposed = 'A lesson proposes no beats as not sinus.';
const oneRecorder = 'A lesson has one recorder.';

/** Single commands that a lesson does without, and why. */
const commands: Readonly<Record<string, string>> = {
  'notSinus.next': beatsNotProposed,
  'notSinus.previous': beatsNotProposed,
  'notSinus.aside': beatsNotProposed,
  'notSinus.kind': beatsNotProposed,
  'recorder.other': oneRecorder,
  'recorder.both': oneRecorder,
  'recorder.evidence': oneRecorder,
  'clock.open': oneRecorder,
  'bundle.give': 'A lesson has no session bundle: finish it and save its results file.',
};

/** Why a lesson does not have a command; null where it does, and in every other review. */
export function whyNotInLesson(command: Command, workspace: Pick<ReviewWorkspace, 'purpose' | 'givenSample'>) {
  if (workspace.purpose !== 'practice') return null;
  if (command.group === 'Sample' && workspace.givenSample) return null;
  return commands[command.id] ?? groups[command.group] ?? null;
}
