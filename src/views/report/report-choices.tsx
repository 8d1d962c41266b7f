import { useState } from 'react';
import { leavesOut } from '../../core/review/privacy/leaving-study';
import type { ReportChoice } from '../../state/study/reporting';
import { LeavingFields } from '../controls/leaving-fields';

/** What the report is computed with; everything else comes from the study. */
export function ReportChoices(props: {
  choice: ReportChoice;
  busy: boolean;
  onChange: (choice: ReportChoice) => void;
}) {
  const [seed, setSeed] = useState(String(props.choice.seed));
  const [draws, setDraws] = useState(String(props.choice.draws));
  const [width, setWidth] = useState(String(props.choice.widthPercent));
  const [unfinished, setUnfinished] = useState(props.choice.includeUnfinished);
  const [second, setSecond] = useState(props.choice.secondDetector);
  const [handling, setHandling] = useState(props.choice.handling);
  const next = {
    handling,
    seed: Number(seed),
    draws: Number(draws),
    widthPercent: Number(width),
    includeUnfinished: unfinished,
    secondDetector: second,
  };
  const whole = (n: number, low: number, high: number) => Number.isInteger(n) && n >= low && n <= high;
  const usable = whole(next.seed, 0, 1e9) && whole(next.draws, 100, 20000) && next.widthPercent > 0 && seed !== '';
  return (
    <form
      className="row"
      onSubmit={event => {
        event.preventDefault();
        props.onChange(next);
      }}
    >
      <label className="field">
        <span>seed</span>
        <input type="number" min={0} value={seed} onChange={e => setSeed(e.target.value)} />
      </label>
      <label className="field">
        <span>bootstrap draws</span>
        <input type="number" min={100} max={20000} step={100} value={draws} onChange={e => setDraws(e.target.value)} />
      </label>
      <label className="field">
        <span>plan for a width of, % points</span>
        <input type="number" min={0.1} step={0.1} value={width} onChange={e => setWidth(e.target.value)} />
      </label>
      <label className="row">
        <input type="checkbox" checked={unfinished} onChange={e => setUnfinished(e.target.checked)} />
        count reviews that are not finished
      </label>
      <label className="row" title="How far the reviews may lean on the marks they started from. Takes a while.">
        <input type="checkbox" checked={second} onChange={e => setSecond(e.target.checked)} />
        ask the second detector, blind to the marks
      </label>
      <details className="report-leaving">
        <summary>
          {leavesOut(handling) ? 'some of what identifies people is left out' : 'leave out what identifies people'}
        </summary>
        <LeavingFields value={handling} onChange={setHandling} />
        <p className="small soft">
          On this page and in all its files, once computed again. The numbers stay the same; the ECG of the examples
          stays.
        </p>
      </details>
      <button type="submit" disabled={!usable || props.busy}>
        {props.busy ? 'Computing …' : 'Recompute'}
      </button>
    </form>
  );
}
