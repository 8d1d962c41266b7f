import { useState } from 'react';
import type { Command } from '../../commands/command';
import { keyLabel, nameToKeep } from '../../commands/key-press';
import { keysInForce, keysOf, withOwnKey } from '../../commands/keymap';
import { allCommands, commandsOf } from '../../commands/scenes';
import { useApp, usePart } from '../app-context';
import { Sheet } from '../controls/dialog';

/** The help sheet: made from the command list, so it cannot go stale; keys are changed right here. */
export function HelpDialog() {
  const app = useApp();
  const close = () => app.ui.openDialog(null);
  const commands = commandsOf(app);
  const groups = [...new Set(commands.map(c => c.group))];
  return (
    <Sheet title="What the keys do" onClose={close} wide>
      <div className="sheet-body">
        <p className="soft">
          Press a key’s button to give the command another key. Letters typed into a field or a sheet never reach the
          strip.
        </p>
        <p>
          <button type="button" onClick={() => app.ui.openDialog('self-check')}>
            Run self-check
          </button>
        </p>
        <div className="help-groups">
          {groups.map(group => (
            <table key={group}>
              <caption className="left">{group}</caption>
              <tbody>
                {commands
                  .filter(c => c.group === group)
                  .map(c => (
                    <KeyRow key={c.id} command={c} />
                  ))}
              </tbody>
            </table>
          ))}
        </div>
        <HowItCounts />
      </div>
    </Sheet>
  );
}

function KeyRow({ command }: { command: Command }) {
  const app = useApp();
  const changes = usePart(app.prefs, keysInForce);
  const own = usePart(app.prefs, p => p.keys);
  const caps = usePart(app.keyCaps, k => k.caps);
  const label = (key: string) => keyLabel(key, caps);
  const [asking, setAsking] = useState(false);
  const [problem, setProblem] = useState('');
  const take = (key: string) => {
    const next = withOwnKey(allCommands, app.prefs.getState(), command.id, key);
    if ('takenBy' in next) return setProblem(`${label(key)} is taken by “${next.takenBy.title}”.`);
    app.prefs.change(next);
    setAsking(false);
    setProblem('');
  };
  const reset = () => {
    const { [command.id]: _, ...rest } = own;
    app.prefs.change({ keys: rest });
  };
  return (
    <tr>
      <td className="left">
        <button
          type="button"
          className="count"
          aria-label={`Key for ${command.title}: ${keysOf(command, changes).map(label).join(' or ')}. Change`}
          onClick={() => setAsking(!asking)}
          onKeyDown={event => {
            if (!asking || event.key === 'Tab') return;
            event.preventDefault();
            event.stopPropagation();
            const key = nameToKeep(event.nativeEvent);
            if (event.key === 'Escape') setAsking(false);
            else if (key) take(key);
          }}
        >
          {asking ? 'press a key …' : keysOf(command, changes).map(k => <kbd key={k}>{label(k)}</kbd>)}
        </button>
        {command.id in own && (
          <button type="button" className="quiet small" onClick={reset}>
            as it was
          </button>
        )}
      </td>
      <td className="left wrap">
        {command.title} <span className="soft small">{command.why}</span>
        {problem && <div className="needs small">{problem}</div>}
      </td>
    </tr>
  );
}

function HowItCounts() {
  return (
    <details>
      <summary>How it counts</summary>
      <p>
        A beat and a mark within 50 ms are the same peak. A mark further off, up to 400 ms and between the neighbouring
        beats, sits on the wrong peak. Beats left over are missed; marks left over are extra. An interval is right when
        both its beats have their mark and the two marks are neighbours. Unreadable spans count as lost the intervals
        that would fit at the local RR interval. Quality is the share of right intervals among those judged and lost.
      </p>
      <p className="caution">
        For research and teaching on signal quality. Not a medical device; not for diagnosis, monitoring or treatment.
      </p>
    </details>
  );
}
