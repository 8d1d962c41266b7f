import { keyLabel } from '../../commands/key-press';
import { keysInForce, keysOf } from '../../commands/keymap';
import { allCommands } from '../../commands/scenes';
import { useApp, usePart } from '../app-context';

/** The first key of a command as it is in force on this device. */
export function KeyCap({ id }: { id: string }) {
  const app = useApp();
  const changes = usePart(app.prefs, keysInForce);
  const caps = usePart(app.keyCaps, k => k.caps);
  const command = allCommands.find(c => c.id === id)!;
  return <kbd title={command.title}>{keyLabel(keysOf(command, changes)[0] ?? '–', caps)}</kbd>;
}
