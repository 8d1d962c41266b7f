import type { App } from '../state/app';
import { type Command, keyOf, type Scene } from './command';
import { commandFor } from './keymap';

/** Fields and sheets keep their letters: nothing typed there reaches a command. */
function typing(target: EventTarget | null): boolean {
  return target instanceof Element && target.closest('input, textarea, select, dialog, [contenteditable]') !== null;
}

/** Enter and Space belong to a focused button or link. */
function pressesControl(target: EventTarget | null, key: string): boolean {
  if (key !== 'Enter' && key !== 'Space') return false;
  return target instanceof Element && target.closest('button, a, summary, [role="button"]') !== null;
}

/** The only keydown listener of the page. Returns what stops it. */
export function listen(app: App, commands: readonly Command[], sceneNow: () => Scene): () => void {
  const run = (command: Command | undefined): boolean => {
    const { desk } = app.desk.getState();
    if (!command || !desk) return false;
    if (command.when && !command.when(desk, app)) {
      app.shell.say('');
      return true;
    }
    command.run(desk, app);
    return true;
  };
  app.runCommand = id => {
    run(commands.find(c => c.id === id));
  };
  const onKey = (event: KeyboardEvent) => {
    const key = keyOf(event);
    if (!key || event.defaultPrevented || app.shell.getState().dialog !== null) return;
    if (typing(event.target) || pressesControl(event.target, key)) return;
    if (run(commandFor(commands, app.prefs.getState().keys, sceneNow(), key))) event.preventDefault();
  };
  window.addEventListener('keydown', onKey);
  return () => window.removeEventListener('keydown', onKey);
}
