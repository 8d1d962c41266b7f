import type { HasWorkspace, ReviewWorkspace } from '../state/review/workspace';
import type { KeyCapsStore } from '../state/stores/key-caps-store';
import type { UiStore } from '../state/stores/ui-store';
import type { Command, CommandContext, SceneNow } from './command';
import { keyNames } from './key-press';
import { commandForPress, keysInForce } from './keymap';
import { whyNotInLesson } from './not-in-lesson';
import { holdSecondPress } from './second-press';

/** Fields and sheets keep their letters: nothing typed there reaches a command. */
function typing(target: EventTarget | null): boolean {
  return target instanceof Element && target.closest('input, textarea, select, dialog, [contenteditable]') !== null;
}

/** Enter and Space belong to a focused button or link. */
function pressesControl(target: EventTarget | null, key: string): boolean {
  if (key !== 'Enter' && key !== 'Space') return false;
  return target instanceof Element && target.closest('button, a, summary, [role="button"]') !== null;
}

function sentence(title: string): string {
  return title.charAt(0).toUpperCase() + title.slice(1);
}

function nothingToDo(command: Command): string {
  const needs = command.scene === 'anywhere' ? undefined : command.needs;
  return needs ?? `${sentence(command.title)}: nothing to do here.`;
}

/** What the keys need of the page: what commands need, the open review, and a place to be called from by buttons. */
export interface KeyedPage extends CommandContext, HasWorkspace {
  readonly ui: UiStore;
  readonly keyCaps: Pick<KeyCapsStore, 'learn' | 'ask'>;
  runCommand: (id: string) => void;
}

/** The only keydown listener of the page. Returns what stops it. */
export function listen(app: KeyedPage, commandsNow: () => readonly Command[], sceneNow: () => SceneNow): () => void {
  const run = (command: Command | undefined): boolean => {
    const { workspace } = app.workspace.getState();
    if (!command || (command.scene !== 'anywhere' && !workspace)) return false;
    // What was said belongs to the key before, except where the hand is led through something longer.
    if (workspace?.purpose !== 'practice' && workspace?.view.getState().spanStart == null) app.ui.status('');
    const unneeded = workspace && whyNotInLesson(command, workspace);
    if (unneeded) {
      app.ui.status(unneeded);
      return true;
    }
    const before = app.ui.getState().said;
    const done = doneBy(command, workspace);
    if (!done && app.ui.getState().said === before) app.ui.status(nothingToDo(command));
    return true;
  };
  const doneBy = (command: Command, workspace: ReviewWorkspace | null): boolean => {
    if (command.scene === 'anywhere') return command.run(app);
    return workspace !== null && (!command.when || command.when(workspace, app)) && command.run(workspace, app);
  };
  app.runCommand = id => {
    run(commandsNow().find(c => c.id === id));
  };
  const stopHolding = holdSecondPress(app.ui);
  const onKey = (event: KeyboardEvent) => {
    app.keyCaps.learn(event);
    const names = keyNames(event);
    if (names.length === 0 || event.defaultPrevented || app.ui.getState().dialog !== null) return;
    if (typing(event.target) || pressesControl(event.target, names[0]!)) return;
    const command = commandForPress(commandsNow(), keysInForce(app.prefs.getState()), sceneNow(), names);
    if (!command) return;
    if (event.repeat && !command.repeats) event.preventDefault();
    else if (run(command)) event.preventDefault();
  };
  // A person may have changed the layout in another window.
  const askAgain = () => void app.keyCaps.ask();
  askAgain();
  window.addEventListener('focus', askAgain);
  window.addEventListener('keydown', onKey);
  return () => {
    stopHolding();
    window.removeEventListener('keydown', onKey);
    window.removeEventListener('focus', askAgain);
  };
}
