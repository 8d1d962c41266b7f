import { useState } from 'react';
import { beginSpotCheck } from '../../commands/settle';
import { defaultSpotCheck, spotCheckReport } from '../../core/review/raters/spot-check';
import { wilsonInterval } from '../../core/score/wilson';
import type { ComparisonWorkspace } from '../../state/compare/comparing';
import { reviewOf } from '../../state/review/review-store';
import { useApp, usePart } from '../app-context';
import { Sheet } from '../controls/dialog';
import { useComparison } from './use-comparison';

/** Outcome over all recorders, in words: k of n stretches changed, with the Wilson interval. */
export function spotCheckWords(workspace: ComparisonWorkspace): { done: boolean; words: string } | null {
  const { comparing } = workspace;
  const plan = comparing.plan();
  if (!plan) return null;
  const reports = workspace.review.get().session.recordings.flatMap(({ recording }) => {
    const comparison = comparing.comparisonOf(recording.id);
    return comparison ? [spotCheckReport(comparison, plan, reviewOf(workspace.review.get(), recording.id))] : [];
  });
  const sum = (pick: (r: (typeof reports)[number]) => number) => reports.reduce((n, r) => n + pick(r), 0);
  const [all, drawn, checked, changed] = [
    sum(r => r.agreedStretches),
    sum(r => r.drawn),
    sum(r => r.checked),
    sum(r => r.changed),
  ];
  const interval = wilsonInterval(changed, checked);
  const share = `${Number((100 * plan.share).toFixed(2))} % of ${all} agreed stretches of ${plan.stretchSeconds} s, seed ${plan.seed}`;
  const limits = interval ? ` (${interval.map(v => (100 * v).toFixed(1)).join(' to ')} %)` : '';
  return {
    done: checked === drawn,
    words: `${share}: ${checked} of ${drawn} looked at, changed ${changed} of ${checked}${limits}`,
  };
}

export function SpotCheckPanel() {
  const app = useApp();
  const workspace = useComparison();
  const { comparing } = workspace;
  usePart(workspace.review.store, s => s.replayed);
  const { checking } = usePart(comparing.store, s => s);
  if (!comparing.settling()) return null;
  const report = spotCheckWords(workspace);
  return (
    <section aria-label="Spot check">
      <h2>Spot check of what both agree on</h2>
      <p data-testid="spot-check">{report?.words ?? 'Check a random share of the stretches on which both agree.'}</p>
      <div className="row">
        {!report?.done && (
          <button type="button" onClick={() => app.runCommand('spot.next')}>
            {report ? 'Next stretch' : 'Draw stretches …'}
          </button>
        )}
        {checking >= 0 && (
          <button type="button" onClick={() => app.runCommand('spot.checked')}>
            Stretch checked, correct
          </button>
        )}
      </div>
    </section>
  );
}

export function SpotCheckDialog() {
  const app = useApp();
  const workspace = useComparison();
  const [share, setShare] = useState(String(100 * defaultSpotCheck.share));
  const [seed, setSeed] = useState(String(defaultSpotCheck.seed));
  const close = () => app.ui.openDialog(null);
  const percent = Number(share.replace(',', '.'));
  const fits = percent > 0 && percent <= 100 && /^\d{1,9}$/.test(seed);
  return (
    <Sheet title="Spot check" onClose={close}>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          if (!fits) return;
          close();
          beginSpotCheck(workspace, app, { ...defaultSpotCheck, share: percent / 100, seed: Number(seed) });
        }}
      >
        <p>
          Two raters can be wrong in the same way. Check a random share of the stretches on which they agree. Share and
          seed are written into the log first; the same seed draws the same stretches.
        </p>
        <label className="row">
          share
          <input data-focus inputMode="decimal" size={5} value={share} onChange={e => setShare(e.target.value)} /> %
        </label>
        <label className="row">
          seed
          <input inputMode="numeric" size={10} value={seed} onChange={e => setSeed(e.target.value)} />
        </label>
        <div className="row end">
          <button type="submit" className="chief" disabled={!fits}>
            Draw
          </button>
        </div>
      </form>
    </Sheet>
  );
}
