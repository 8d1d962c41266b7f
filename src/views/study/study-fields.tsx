import { useState } from 'react';
import type { Study } from '../../core/review/study';
import { wordsOf } from '../../state/failure-words';
import { applySettings, keepStudy } from '../../state/studies';
import { useApp } from '../app-context';

/** What all sessions of the study share. */
export function StudyFields({ study, onChange }: { study: Study; onChange: () => void }) {
  const app = useApp();
  const [title, setTitle] = useState(study.title);
  const [tolerance, setTolerance] = useState(String(study.settings.onPeakToleranceMs));
  const [reach, setReach] = useState(String(study.settings.wrongPeakWindowMs));
  const [template, setTemplate] = useState(study.segmentTemplate.join('\n'));
  const [protocol, setProtocol] = useState(study.protocol);
  const [said, setSaid] = useState('');
  const onPeakToleranceMs = Number(tolerance);
  const wrongPeakWindowMs = Number(reach);
  const usable = onPeakToleranceMs > 0 && wrongPeakWindowMs >= onPeakToleranceMs && title.trim() !== '';
  const keep = async () => {
    const names = template.split('\n').map(n => n.trim());
    const changed: Study = {
      ...study,
      title: title.trim(),
      settings: { onPeakToleranceMs, wrongPeakWindowMs },
      segmentTemplate: [...new Set(names.filter(n => n !== ''))],
      protocol,
    };
    try {
      await keepStudy(app.library, changed);
      await applySettings(app.library, changed);
      setSaid('Kept, and given to every session of the study.');
      onChange();
    } catch (error) {
      setSaid(wordsOf(error));
    }
  };
  return (
    <section aria-labelledby="shared">
      <h2 id="shared">Shared by all sessions</h2>
      <form
        className="study-fields"
        onSubmit={event => {
          event.preventDefault();
          void keep();
        }}
      >
        <label className="field">
          <span>title</span>
          <input value={title} maxLength={200} onChange={e => setTitle(e.target.value)} />
        </label>
        <div className="row">
          <label className="field">
            <span>a mark is on the peak within, ms</span>
            <input type="number" min={1} max={200} value={tolerance} onChange={e => setTolerance(e.target.value)} />
          </label>
          <label className="field">
            <span>a wrong peak lies within, ms</span>
            <input type="number" min={1} max={1000} value={reach} onChange={e => setReach(e.target.value)} />
          </label>
        </div>
        <label className="field">
          <span>activities in the order of the protocol, one a line</span>
          <textarea rows={6} value={template} onChange={e => setTemplate(e.target.value)} />
        </label>
        <label className="field">
          <span>protocol: what raters are to follow</span>
          <textarea rows={6} value={protocol} onChange={e => setProtocol(e.target.value)} />
        </label>
        <div className="row">
          <button type="submit" disabled={!usable}>
            Keep these
          </button>
          <span role="status">{said}</span>
        </div>
      </form>
    </section>
  );
}
