import { useState } from 'react';
import type { Study } from '../../core/review/study/study';
import { readTemplate, templateText } from '../../core/review/study/template';
import type { Difficulty } from '../../core/simulate/lessons';
import { errorMessage } from '../../state/error-message';
import { applySettings, applyTemplate, saveStudy } from '../../state/study/studies';
import { useApp } from '../app-context';

/** What all sessions of the study share. */
export function StudyFields({ study, onChange }: { study: Study; onChange: () => void }) {
  const app = useApp();
  const [title, setTitle] = useState(study.title);
  const [tolerance, setTolerance] = useState(String(study.settings.onPeakToleranceMs));
  const [reach, setReach] = useState(String(study.settings.wrongPeakWindowMs));
  const [template, setTemplate] = useState(templateText(study));
  const [protocol, setProtocol] = useState(study.protocol);
  const [countedRater, setCountedRater] = useState(study.countedRater ?? '');
  const practice = usePractice(study);
  const [said, setSaid] = useState('');
  const read = readTemplate(template);
  const onPeakToleranceMs = Number(tolerance);
  const wrongPeakWindowMs = Number(reach);
  const usable =
    practice.isUsable &&
    onPeakToleranceMs > 0 &&
    wrongPeakWindowMs >= onPeakToleranceMs &&
    title.trim() !== '' &&
    read.problem === null;
  const keep = async () => {
    const { segmentSeconds: _, countedRater: __, requiredPractice: ___, ...before } = study;
    const changed: Study = {
      ...before,
      ...read.template,
      title: title.trim(),
      settings: { onPeakToleranceMs, wrongPeakWindowMs },
      protocol,
      ...(countedRater === '' ? {} : { countedRater }),
      ...practice.asked,
    };
    try {
      await saveStudy(app.library, changed);
      await applySettings(app.library, changed);
      const given = await applyTemplate(app.library, changed);
      const segments = given > 0 ? ` ${given} recordings without segments have those of the protocol now.` : '';
      setSaid(`Saved for every session of the study.${segments}`);
      onChange();
    } catch (error) {
      setSaid(errorMessage(error));
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
          <span>
            activities in the order of the protocol, one a line; with times, as in “uphill run, 15:00, 20:00”,
          </span>
          <span>they become the segments of recordings that come without</span>
          <textarea
            rows={6}
            value={template}
            aria-describedby="template-problem"
            onChange={e => setTemplate(e.target.value)}
          />
        </label>
        <p id="template-problem" className="needs small" role="status">
          {read.problem}
        </p>
        <label className="field">
          <span>rater whose review counts where none is adjudicated; empty: the first by code</span>
          <input
            size={8}
            maxLength={20}
            value={countedRater}
            onChange={e => setCountedRater(e.target.value.replace(/[^A-Za-z0-9_.-]/g, ''))}
          />
        </label>
        <PracticeFields {...practice} />
        <label className="field">
          <span>protocol: what raters are to follow</span>
          <textarea rows={6} value={protocol} onChange={e => setProtocol(e.target.value)} />
        </label>
        <div className="row">
          <button type="submit" disabled={!usable}>
            Save these
          </button>
          <span role="status">{said}</span>
        </div>
      </form>
    </section>
  );
}

function usePractice({ requiredPractice }: Study) {
  const [pass, setPass] = useState(String(requiredPractice?.passPercent ?? ''));
  const [difficulty, setDifficulty] = useState<Difficulty>(requiredPractice?.difficulty ?? 3);
  const passPercent = Number(pass.replace(',', '.'));
  const isEmpty = pass.trim() === '';
  return {
    pass,
    setPass,
    difficulty,
    setDifficulty,
    isUsable: isEmpty || (passPercent > 0 && passPercent <= 100),
    asked: isEmpty ? {} : { requiredPractice: { passPercent, difficulty } },
  };
}

/** What a rater must have practised first; without a percentage, nothing. */
function PracticeFields({ pass, setPass, difficulty, setDifficulty, isUsable }: ReturnType<typeof usePractice>) {
  return (
    <div className="row">
      <label className="field">
        <span>practice before a review can be changed: % of a lesson’s points; empty: none</span>
        <input
          inputMode="decimal"
          size={5}
          maxLength={5}
          value={pass}
          aria-invalid={!isUsable}
          onChange={e => setPass(e.target.value)}
        />
      </label>
      <label className="field">
        <span>at difficulty, or more</span>
        <select value={difficulty} onChange={e => setDifficulty(Number(e.target.value) as Difficulty)}>
          {[1, 2, 3, 4, 5].map(d => (
            <option key={d} value={d}>
              {d} of 5
            </option>
          ))}
        </select>
      </label>
    </div>
  );
}
