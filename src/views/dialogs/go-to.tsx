import { useState } from 'react';
import { goTo } from '../../commands/navigate';
import { clock, parseClock } from '../../state/clocks/text';
import { active } from '../../state/review/workspace';
import { useApp, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';

/** Go to a time since the start, or to a time of day when the recording has one. */
export function GoToDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  const { item, rateHz, caret } = active(workspace);
  const { startedAt, sampleCount } = item.recording;
  const [text, setText] = useState(clock(caret / rateHz, 1));
  const [byDay, setByDay] = useState(false);
  const [problem, setProblem] = useState('');
  const close = () => app.ui.openDialog(null);
  const go = () => {
    const seconds = parseClock(text);
    const at = seconds === null ? null : byDay && startedAt ? sinceStart(seconds, startedAt) : seconds;
    if (at === null) return setProblem('Write minutes and seconds such as 12:30, or hours too: 1:12:30.');
    if (at * rateHz >= sampleCount) return setProblem(`The recording ends at ${clock(sampleCount / rateHz)}.`);
    goTo(workspace, Math.round(at * rateHz));
    close();
  };
  return (
    <Sheet title="Go to a time" onClose={close}>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          go();
        }}
      >
        <label className="field">
          <span>{byDay ? 'time of day' : 'time since the start'}</span>
          <input data-focus value={text} onChange={e => setText(e.target.value)} onFocus={e => e.target.select()} />
        </label>
        {startedAt && (
          <label className="row">
            <input type="checkbox" checked={byDay} onChange={e => setByDay(e.target.checked)} />
            time of day (the recording starts at {startedAt.slice(11, 19)})
          </label>
        )}
        {problem && (
          <p className="needs" role="alert">
            {problem}
          </p>
        )}
        <div className="row end">
          <button type="submit" className="chief">
            Go
          </button>
        </div>
      </form>
    </Sheet>
  );
}

/** Seconds after the start of a time of day; over midnight it is the next day. */
function sinceStart(secondOfDay: number, startedAt: string): number {
  const start = parseClock(startedAt.slice(11)) ?? 0;
  return (secondOfDay - start + 86_400) % 86_400;
}
