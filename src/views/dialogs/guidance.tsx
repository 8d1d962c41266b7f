import { useEffect, useState } from 'react';
import {
  type GuidanceSection,
  guidanceText,
  lookedAtGuidance,
  parseGuidance,
  samplingGuidance,
} from '../../core/review/places/guidance';
import { guidanceFor, type SavedGuidance, saveGuidance } from '../../state/review/guidance';
import { useApp, usePart, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';

/** The one-page protocol raters follow, to read and, for whoever runs the study, to change. */
export function GuidanceDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  const id = usePart(workspace.review.store, s => s.session.id);
  const [kept, setKept] = useState<SavedGuidance | null>(null);
  const [draft, setDraft] = useState<string | null>(null);
  const [problem, setProblem] = useState('');
  useEffect(() => {
    guidanceFor(app.library, id).then(setKept, (error: Error) => setProblem(error.message));
  }, [app, id]);
  const keep = async (text: string | null) => {
    await saveGuidance(app.library, id, text === null ? null : parseGuidance(text));
    setKept(await guidanceFor(app.library, id));
    setDraft(null);
  };
  const doing = (work: Promise<void>) => void work.catch((error: Error) => setProblem(error.message));
  const close = () => app.ui.openDialog(null);
  return (
    <Sheet title={kept?.guidance.title ?? 'Protocol for raters'} onClose={close} wide>
      <div className="sheet-body">
        {problem && (
          <p className="needs" role="alert">
            {problem}
          </p>
        )}
        {kept && draft === null && (
          <>
            <Protocol kept={kept} />
            <div className="row end">
              <span className="soft small">as kept for {kept.from}</span>
              {kept.from === 'this session' && (
                <button type="button" className="quiet" onClick={() => doing(keep(null))}>
                  Reset to the study’s or the default protocol
                </button>
              )}
              <button type="button" onClick={() => setDraft(guidanceText(kept.guidance))}>
                Change …
              </button>
            </div>
          </>
        )}
        {draft !== null && (
          <form
            className="sheet-body"
            onSubmit={event => {
              event.preventDefault();
              doing(keep(draft));
            }}
          >
            <label className="field">
              <span>the title first; a heading begins with #, a point with -</span>
              <textarea rows={18} value={draft} onChange={e => setDraft(e.target.value)} />
            </label>
            <div className="row end">
              <button type="button" onClick={() => setDraft(null)}>
                Cancel
              </button>
              <button type="submit" className="chief">
                Save for this session
              </button>
            </div>
          </form>
        )}
      </div>
    </Sheet>
  );
}

function Protocol({ kept }: { kept: SavedGuidance }) {
  return (
    <>
      <div className="protocol" data-testid="protocol">
        {kept.guidance.sections.map(section => (
          <Section key={section.heading} section={section} />
        ))}
      </div>
      <Section section={lookedAtGuidance} />
      <Section section={samplingGuidance} />
    </>
  );
}

function Section({ section }: { section: GuidanceSection }) {
  return (
    <section>
      <h3>{section.heading}</h3>
      <ul>
        {section.points.map(point => (
          <li key={point}>{point}</li>
        ))}
      </ul>
    </section>
  );
}
