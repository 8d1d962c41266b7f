import { useMemo, useState } from 'react';
import { editing } from '../../commands/perform';
import { leaveSample, startSample } from '../../commands/sampling';
import { isRefusal, refuseChange } from '../../core/review/edits';
import { segmentsUnderReview } from '../../core/review/standing/coverage';
import { planReview } from '../../core/review/standing/sampled';
import { expectedDraws, sampledStretchSeconds, sharedSample } from '../../state/review/sampling';
import { active, type ReviewWorkspace } from '../../state/review/workspace';
import { useApp, usePart, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';
import { RefusedSheet, refusalOf } from '../controls/refused';
import { expectedWords } from './expected-words';
import { SamplingGuidance } from './sampling-guidance';

const widths = [
  { name: '0.5 points from 99 % on, else 1', value: null },
  { name: '1 percentage point', value: 0.01 },
  { name: '0.5 percentage points', value: 0.005 },
  { name: '0.2 percentage points', value: 0.002 },
] as const;

/** Shorter than this a sample saves nothing worth having. */
const worthSeconds = 15 * 60;

/** Plans a sampled review: of what, how narrow, and how long it will take. */
export function SampleDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  const recordingId = usePart(workspace.view, v => v.recordingId);
  usePart(workspace.suspicions, s => s.version);
  const ready = workspace.suspicions.ready(recordingId);
  usePart(workspace.review.store, s => s.replayed);
  const { item, rateHz } = active(workspace);
  const segments = segmentsUnderReview(item);
  const [segment, setSegment] = useState<string | null>(() => firstChoice(workspace));
  const [width, setWidth] = useState(0);
  const chosen = segment === null ? segments : segments.filter(s => s.name === segment);
  const seconds = chosen.reduce((sum, s) => sum + s.end - s.start, 0) / rateHz;
  const halfWidth = widths[width]!.value;
  const shared = sharedSample(workspace, segment);
  const expected = useMemo(
    () => (ready || shared ? expectedDraws(workspace, { segment, halfWidth }) : null),
    [workspace, ready, shared, segment, halfWidth],
  );
  const close = () => app.ui.openDialog(null);
  const refusal = refusalOf(workspace, refuseChange(editing(workspace), []));
  if (refusal !== null) return <RefusedSheet title="Review a sample" why={refusal} onClose={close} />;
  const start = () => {
    leaveSample(workspace);
    if (startSample(workspace, app, { segment, halfWidth })) close();
  };
  const problem = expected === null ? 'The recording is still being analysed.' : expected.problem;
  const twice = expected?.plan ? planReview(editing(workspace), expected.plan) : null;
  return (
    <Sheet title="Review a sample" onClose={close}>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          start();
        }}
      >
        <p>
          Stretches of {sampledStretchSeconds} s are drawn at random, and the page shows as many of them as fit, each in
          a row of its own. After each page you see quality with a 95 % interval that holds whenever you stop.
        </p>
        <label className="field">
          <span>of</span>
          <select data-focus value={segment ?? ''} onChange={e => setSegment(e.target.value || null)}>
            {segments.length > 1 && <option value="">all segments</option>}
            {segments.map(s => (
              <option key={s.name} value={s.name}>
                {s.name}
              </option>
            ))}
          </select>
        </label>
        {shared && (
          <p data-testid="sample-shared">
            A sample of this was planned for all raters: you review the same stretches in the same order
            {shared.drawn === null ? '' : `, ${shared.drawn} of them`}.
          </p>
        )}
        <label className="field">
          <span>interval, on either side</span>
          <select value={width} onChange={e => setWidth(Number(e.target.value))}>
            {widths.map((w, i) => (
              <option key={w.name} value={i}>
                {w.name}
              </option>
            ))}
          </select>
        </label>
        {problem && (
          <p className="needs" role="alert">
            {problem}
          </p>
        )}
        {expected?.problem === null && (
          <p data-testid="sample-expected">{expectedWords(expected, shared?.drawn != null)}</p>
        )}
        {seconds < worthSeconds && (
          <p className="soft">Under 15 min a sample saves little: a full review gives the exact number.</p>
        )}
        {isRefusal(twice) && <p className="needs">{twice.refused}</p>}
        <SamplingGuidance />
        <div className="row end">
          <button type="submit" className="chief" disabled={problem !== null || isRefusal(twice)}>
            Start
          </button>
        </div>
      </form>
    </Sheet>
  );
}

/** What all raters sample, else the only segment, else all of them. */
function firstChoice(workspace: ReviewWorkspace): string | null {
  const { item } = active(workspace);
  const segments = segmentsUnderReview(item);
  const { samples = [] } = workspace.review.get().session;
  const shared = samples.find(s => s.recording === item.recording.id)?.plan;
  if (shared) return shared.segment;
  return segments.length === 1 ? segments[0]!.name : null;
}
