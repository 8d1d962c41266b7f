import type { Command } from './command';
import { pageCommands } from './page-commands';

let commands: readonly Command[] = pageCommands;

/** The commands that the keys of this page reach: those that need no open review until `fetchCommands` has the rest. */
export function commandsInForce(): readonly Command[] {
  return commands;
}

/** Fetches the commands of reviews and puts them in force. A screen with keys waits for it before it shows. */
export async function fetchCommands(): Promise<void> {
  const { allCommands } = await import('./scenes');
  commands = allCommands;
}
