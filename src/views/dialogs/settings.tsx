import { useState } from 'react';
import { defaultMatchSettings } from '../../core/marks/match';
import { cssPxPerMm } from '../../core/units';
import { changeOpenSession } from '../../state/review/session-change';
import { useApp, usePart, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';

/** What the scores are computed with, and how the page looks on this screen. */
export function SettingsDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  return (
    <Sheet title="Settings" onClose={() => app.ui.openDialog(null)}>
      <div className="sheet-body">
        {/* A lesson is graded with the same settings for everybody. */}
        {workspace.purpose !== 'practice' && <ScoreSettings />}
        <Calibration />
        <LookSettings />
      </div>
    </Sheet>
  );
}

function ScoreSettings() {
  const app = useApp();
  const workspace = useWorkspace();
  const session = usePart(workspace.review.store, s => s.session);
  const writable = usePart(workspace.review.store, s => s.access.writable);
  const change = (part: Partial<typeof session.settings>) => {
    changeOpenSession(app, workspace.review, now => ({ ...now, settings: { ...now.settings, ...part } })).catch(
      (error: Error) => app.ui.notify(`Settings not saved: ${error.message}`),
    );
  };
  return (
    <fieldset className="fields" disabled={!writable}>
      <legend>Counting, for this session (goes into every export)</legend>
      <Milliseconds
        label="a mark is on the peak within"
        value={session.settings.onPeakToleranceMs}
        usual={defaultMatchSettings.onPeakToleranceMs}
        onChange={onPeakToleranceMs => change({ onPeakToleranceMs })}
      />
      <Milliseconds
        label="a mark is on a wrong peak of the beat within"
        value={session.settings.wrongPeakWindowMs}
        usual={defaultMatchSettings.wrongPeakWindowMs}
        onChange={wrongPeakWindowMs => change({ wrongPeakWindowMs })}
      />
    </fieldset>
  );
}

function Milliseconds(props: { label: string; value: number; usual: number; onChange: (value: number) => void }) {
  // What is being typed may be empty for a moment; only a whole number of milliseconds counts.
  const [text, setText] = useState(String(props.value));
  return (
    <label className="row">
      {props.label}
      <input
        type="number"
        min={1}
        max={2000}
        step={1}
        value={text}
        onBlur={() => setText(String(props.value))}
        onChange={event => {
          setText(event.target.value);
          const value = event.target.valueAsNumber;
          if (Number.isInteger(value) && value >= 1 && value <= 2000) props.onChange(value);
        }}
      />
      ms <span className="soft small">usual: {props.usual} ms</span>
    </label>
  );
}

/** The strip is true to the millimetre once the person has measured the bar below with a ruler. */
function Calibration() {
  const app = useApp();
  const workspace = useWorkspace();
  const pxPerMm = usePart(app.prefs, p => p.pxPerMm);
  const [measured, setMeasured] = useState('');
  const barPx = 100 * cssPxPerMm;
  const keep = (value: number) => {
    app.prefs.change({ pxPerMm: value });
    workspace.view.setState({ pxPerMm: value });
  };
  const apply = () => {
    const mm = Number(measured.replace(',', '.'));
    if (mm > 20 && mm < 500) keep(barPx / mm);
  };
  return (
    <fieldset className="fields">
      <legend>Paper scale of this screen</legend>
      <p className="small">Hold a ruler to the line and write how long it is. Then 25 mm/s is 25 mm on this screen.</p>
      <svg width={barPx} height={12} role="img" aria-label="calibration line">
        <path d={`M0.5 0V12M0.5 6H${barPx - 0.5}M${barPx - 0.5} 0V12`} stroke="currentColor" fill="none" />
      </svg>
      <div className="row">
        <label className="row">
          length of the line
          <input inputMode="decimal" size={6} value={measured} onChange={e => setMeasured(e.target.value)} /> mm
        </label>
        <button type="button" onClick={apply}>
          Use it
        </button>
        <button type="button" className="quiet" onClick={() => keep(cssPxPerMm)}>
          Reset
        </button>
        <span className="soft small">now {pxPerMm.toFixed(2)} pixels to the millimetre</span>
      </div>
    </fieldset>
  );
}

function LookSettings() {
  const app = useApp();
  const prefs = usePart(app.prefs, p => p);
  return (
    <fieldset className="fields">
      <legend>Look and keys</legend>
      <label className="row">
        theme
        <select value={prefs.theme} onChange={e => app.prefs.change({ theme: e.target.value as typeof prefs.theme })}>
          <option value="system">as the system</option>
          <option value="light">paper</option>
          <option value="dark">charcoal</option>
        </select>
      </label>
      <label className="row">
        <input
          type="checkbox"
          checked={prefs.largeText}
          onChange={e => app.prefs.change({ largeText: e.target.checked })}
        />
        large text
      </label>
      <label className="row">
        words on the strip
        <select
          value={prefs.stripWords}
          onChange={e => app.prefs.change({ stripWords: Number(e.target.value) as typeof prefs.stripWords })}
        >
          <option value={1}>as large as on the page</option>
          <option value={1.25}>larger by a quarter</option>
          <option value={1.5}>larger by half</option>
        </select>
      </label>
      <label className="row">
        <input
          type="checkbox"
          checked={prefs.skipOutside}
          onChange={e => app.prefs.change({ skipOutside: e.target.checked })}
        />
        turning the page skips the time outside segments
      </label>
      <label className="row">
        keys for
        <select
          value={prefs.handedness}
          onChange={e => app.prefs.change({ handedness: e.target.value as typeof prefs.handedness })}
        >
          <option value="right">both hands, mouse or pen in the right</option>
          <option value="left">the right hand alone, mouse or pen in the left</option>
        </select>
      </label>
    </fieldset>
  );
}
