import { type ReactNode, useMemo, useState } from 'react';
import type { AppliedClock } from '../../core/report/pairs/recorder-pairs';
import { saveClock } from '../../state/clocks/fits';
import { clockCheck, findClock } from '../../state/clocks/work';
import { errorMessage } from '../../state/error-message';
import { useApp, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';
import { FigureView } from '../controls/figure-view';
import './clock.css';

/** The clocks of two recorders on one body: found from the beats, shown by what is left, corrected by hand. */
export function ClockDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  const close = () => app.ui.openDialog(null);
  const [reference, ...others] = workspace.review.get().session.recordings.map(r => r.recording);
  const [id, setId] = useState(others[0]?.id ?? '');
  if (!reference || others.length === 0) {
    return (
      <Sheet title="Clocks" onClose={close}>
        <p className="sheet-body">This session has one recorder, so there is no second clock.</p>
      </Sheet>
    );
  }
  const nameOf = (of: string) => others.find(r => r.id === of)?.recorder;
  return (
    <Sheet title={`Clock of the ${nameOf(id)} against that of the ${reference.recorder}`} onClose={close} wide>
      <div className="sheet-body">
        {others.length > 1 && (
          <label className="field">
            <span>recorder</span>
            <select value={id} onChange={e => setId(e.target.value)}>
              {others.map(r => (
                <option key={r.id} value={r.id}>
                  {r.recorder}
                </option>
              ))}
            </select>
          </label>
        )}
        <ClockForm key={id} referenceId={reference.id} id={id} onClose={close}>
          Time on the {nameOf(id)} = offset + (1 + drift) × time on the {reference.recorder}, each from its own start.
        </ClockForm>
      </div>
    </Sheet>
  );
}

interface ClockFormProps {
  readonly referenceId: string;
  readonly id: string;
  readonly onClose: () => void;
  /** What the two numbers mean. */
  readonly children: ReactNode;
}

function ClockForm({ referenceId, id, onClose, children }: ClockFormProps) {
  const app = useApp();
  const workspace = useWorkspace();
  const { session } = workspace.review.get();
  const known = app.clocks.fitOf(session, id);
  const [offset, setOffset] = useState(known.offsetSeconds.toFixed(4));
  const [drift, setDrift] = useState(known.driftPpm.toFixed(2));
  const [from, setFrom] = useState(known.from);
  const [exact, setExact] = useState<AppliedClock>(known);
  const [said, setSaid] = useState('');
  const [busy, setBusy] = useState(false);
  const fit = fitFrom(offset, drift, from, exact);
  const { offsetSeconds, driftPpm } = fit ?? exact;
  const check = useMemo(
    () => clockCheck(workspace, referenceId, id, { offsetSeconds, driftPpm, from }),
    [workspace, referenceId, id, offsetSeconds, driftPpm, from],
  );
  const show = (found: AppliedClock) => {
    setOffset(found.offsetSeconds.toFixed(4));
    setDrift(found.driftPpm.toFixed(2));
    setFrom(found.from);
    setExact(found);
  };
  const find = async () => {
    setBusy(true);
    setSaid('Comparing the beats …');
    try {
      const found = await findClock(workspace, referenceId, id);
      if ('fit' in found) show(found.fit);
      setSaid('fit' in found ? 'Found from the beats of both.' : `Not found: ${found.reason}. Set it by hand.`);
    } catch (error) {
      setSaid(errorMessage(error));
    }
    setBusy(false);
  };
  const keep = async () => {
    if (!fit) return;
    try {
      await saveClock(app, session, id, fit);
      // The strip reads clocks when the view changes.
      workspace.view.setState({ ...workspace.view.getState() });
      app.ui.status(`Clock saved: ${fit.from}.`);
      onClose();
    } catch (error) {
      setSaid(errorMessage(error));
    }
  };
  const byHand = (set: (text: string) => void) => (text: string) => {
    set(text);
    setFrom('by hand');
    setSaid('');
  };
  return (
    <form
      className="clock-form"
      onSubmit={event => {
        event.preventDefault();
        void keep();
      }}
    >
      <p>
        {children} In use: <strong data-testid="clock-from">{from}</strong>.
      </p>
      <div className="row">
        <button type="button" className="chief" disabled={busy} onClick={() => void find()}>
          {busy ? 'Working …' : 'Find from the beats'}
        </button>
        <NumberField label="offset, s" value={offset} step="0.001" onChange={byHand(setOffset)} />
        <NumberField label="drift, ppm" value={drift} step="0.1" onChange={byHand(setDrift)} />
        <button type="submit" disabled={!fit || busy}>
          Save this clock
        </button>
      </div>
      <p role="status" data-testid="clock-said">
        {said} {check.pairs} of {check.beats} beats have one of the other recorder within 50 ms
        {check.residualSdMs === null ? '' : `; what is left has an SD of ${check.residualSdMs.toFixed(1)} ms`}.
      </p>
      {check.doubts.map(doubt => (
        <p key={doubt} role="alert" className="needs">
          {doubt}
        </p>
      ))}
      <FigureView figure={check.figure} />
      <p className="soft small">{check.figure.description}</p>
    </form>
  );
}

/** What is typed, or the exact value behind a rounded field that was not touched. */
function fitFrom(offset: string, drift: string, from: string, exact: AppliedClock): AppliedClock | null {
  if (from !== 'by hand') return exact;
  const offsetSeconds = Number(offset);
  const driftPpm = Number(drift);
  const usable =
    offset.trim() !== '' && drift.trim() !== '' && Number.isFinite(offsetSeconds) && Math.abs(driftPpm) < 10000;
  return usable ? { offsetSeconds, driftPpm, from } : null;
}

function NumberField(props: { label: string; value: string; step: string; onChange: (text: string) => void }) {
  return (
    <label className="field">
      <span>{props.label}</span>
      <input type="number" step={props.step} value={props.value} onChange={e => props.onChange(e.target.value)} />
    </label>
  );
}
