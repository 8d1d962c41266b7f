import { useState } from 'react';
import { beginSettling } from '../../commands/settle';
import type { Note } from '../../core/marks/edit';
import { noteText } from '../../core/review/places/evidence';
import type { Disagreement } from '../../core/review/raters/disagreements';
import { clock } from '../../state/clocks/text';
import { reviewOf } from '../../state/review/review-store';
import { itemOf } from '../../state/review/workspace';
import { useApp, usePart } from '../app-context';
import { KeyCap } from '../controls/key';
import { kindWords, sideWords, takenWords } from './differences';
import { useComparison } from './use-comparison';

/** The current difference: what A has, what B has, what was decided, and the keys to decide with. */
export function SettlePanel() {
  const workspace = useComparison();
  const { comparing } = workspace;
  usePart(workspace.review.store, s => s.replayed);
  const recordingId = usePart(workspace.view, v => v.recordingId);
  const { inHand } = usePart(comparing.store, s => s);
  const list = comparing.comparisonOf(recordingId)?.disagreements ?? [];
  const d = list[inHand];
  const settling = comparing.settling();
  return (
    <section aria-label="Current difference" data-testid="difference-in-hand">
      {comparing.viewer.role === 'adjudicator' && !settling && <Begin />}
      {d ? (
        <InHand d={d} number={inHand + 1} of={list.length} />
      ) : (
        <p className="soft">
          {list.length === 0 ? (
            'The two reviews agree everywhere on this recorder.'
          ) : (
            <>
              Press <KeyCap id="difference.next" /> for the first difference.
            </>
          )}
        </p>
      )}
    </section>
  );
}

function Begin() {
  const app = useApp();
  const workspace = useComparison();
  const logs = workspace.comparing.logs();
  if (!logs) return null;
  return (
    <p className="row">
      <button type="button" className="chief" onClick={() => beginSettling(workspace, app)}>
        Begin settling {logs.a.header.rater} and {logs.b.header.rater}
      </button>
      <span className="soft small">What both raters agree on is copied into your log first.</span>
    </p>
  );
}

function InHand({ d, number, of }: { d: Disagreement; number: number; of: number }) {
  const app = useApp();
  const workspace = useComparison();
  const { comparing } = workspace;
  const recordingId = workspace.view.getState().recordingId;
  const { recording } = itemOf(workspace, recordingId);
  const rateHz = recording.samplingRateHz;
  const logs = comparing.logs()!;
  const review = reviewOf(workspace.review.get(), recordingId);
  return (
    <>
      <h2>
        {kindWords(d.kind)} <span className="soft">{`${number} of ${of}, ${d.segment ?? 'outside all segments'}`}</span>
      </h2>
      <table>
        <tbody>
          <tr>
            <th scope="row">A, {logs.a.header.rater}</th>
            <td className="left wrap">{sideWords(d, 'A', rateHz)}</td>
          </tr>
          <tr>
            <th scope="row">B, {logs.b.header.rater}</th>
            <td className="left wrap">
              {sideWords(d, 'B', rateHz)}
              {d.apartMs !== null && `, ${d.apartMs.toFixed(0)} ms apart`}
            </td>
          </tr>
          {comparing.settling() && (
            <tr>
              <th scope="row">taken</th>
              <td className="left wrap" data-testid="taken">
                {takenWords(review, d, rateHz)}
              </td>
            </tr>
          )}
        </tbody>
      </table>
      <Remarks d={d} />
      {comparing.settling() && (
        <div className="row">
          <button type="button" onClick={() => app.runCommand('settle.a')}>
            Take A
          </button>
          <button type="button" onClick={() => app.runCommand('settle.b')}>
            Take B
          </button>
          <button type="button" onClick={() => app.runCommand('settle.placed')}>
            Use this position
          </button>
          <button type="button" className="quiet" onClick={() => app.runCommand('settle.reason')}>
            With a reason …
          </button>
        </div>
      )}
    </>
  );
}

/** What the raters remarked near the difference; remarks stay in their own logs. */
function Remarks({ d }: { d: Disagreement }) {
  const workspace = useComparison();
  const { comparing } = workspace;
  const recordingId = workspace.view.getState().recordingId;
  const { samplingRateHz } = itemOf(workspace, recordingId).recording;
  const pair = comparing.comparisonOf(recordingId)?.pair;
  const logs = comparing.logs();
  if (!pair || !logs) return null;
  const start = Math.min(...d.territory.map(s => s.start)) - 2 * samplingRateHz;
  const end = Math.max(...d.territory.map(s => s.end)) + 2 * samplingRateHz;
  const near = (notes: readonly Note[]) => notes.filter(n => n.start < end && n.end >= start);
  const all = [
    ...near(pair.a.notes).map(n => ({ rater: logs.a.header.rater, n })),
    ...near(pair.b.notes).map(n => ({ rater: logs.b.header.rater, n })),
  ];
  if (all.length === 0) return null;
  return (
    <ul className="small">
      {all.map(({ rater, n }) => (
        <li key={`${rater} ${n.id}`}>
          {rater}, {n.kind} at {clock(n.start / samplingRateHz, 1)}: {noteText(n) || 'no words'}
        </li>
      ))}
    </ul>
  );
}

/** Which two reviews are compared; fixed once settling has begun. */
export function PairChoice() {
  const workspace = useComparison();
  const { comparing } = workspace;
  usePart(workspace.review.store, s => s.replayed);
  usePart(comparing.store, s => s.pair);
  const [problem, setProblem] = useState('');
  const logs = comparing.logs();
  const codes = comparing.raters().map(l => l.header.rater);
  const choose = (side: 'a' | 'b') => (event: { target: { value: string } }) => {
    const pair = { a: logs!.a.header.rater, b: logs!.b.header.rater, [side]: event.target.value };
    if (pair.a === pair.b) return setProblem('A and B need two different reviews.');
    setProblem('');
    comparing.store.setState({ pair, inHand: -1, checking: -1 });
  };
  if (!logs) return null;
  return (
    <span className="row">
      {(['a', 'b'] as const).map(side => (
        <label key={side} className="row">
          {side.toUpperCase()}
          <select
            value={logs[side].header.rater}
            disabled={comparing.settling()}
            onChange={choose(side)}
            data-testid={`rater-${side}`}
          >
            {codes.map(code => (
              <option key={code}>{code}</option>
            ))}
          </select>
        </label>
      ))}
      {problem && <span className="needs">{problem}</span>}
    </span>
  );
}
