import { detectorName } from '../../core/detector/name';
import { durationSeconds } from '../../core/recording/recording';
import type { AnnotationUse } from '../../formats/edf/annotations';
import { clock } from '../../state/clocks/text';
import type { ImportedRecorder } from '../../state/import/row';
import { annotationUses, lengthNote, notesOf, placedMarks, segmentsOf } from '../../state/import/session';
import { useApp } from '../app-context';
import { TableHead } from '../controls/table-head';

const useWords = { marks: 'detected marks', segments: 'segments', none: 'nothing' } as const;

/** What came out of reading, recorder by recorder, to be confirmed. */
export function Summary(props: {
  recorders: readonly ImportedRecorder[];
  repeats: readonly string[];
  /** Names of the files that are left out. */
  left: readonly string[];
}) {
  const { recorders, repeats, left } = props;
  const note = lengthNote(recorders);
  return (
    <>
      {[...(note ? [note] : []), ...repeats].map(text => (
        <p key={text} className="needs">
          {text}
        </p>
      ))}
      {left.length > 0 && (
        <p>
          {left.length === 1 ? 'File' : 'Files'} left out: {left.join(', ')}.
        </p>
      )}
      {recorders.map(recorder => (
        <RecorderSummary key={recorder.row} recorder={recorder} />
      ))}
    </>
  );
}

function RecorderSummary({ recorder }: { recorder: ImportedRecorder }) {
  const { recording, patient } = { ...recorder.opened };
  const notes = notesOf(recorder);
  const segments = segmentsOf(recorder);
  const gapSeconds = recording.gaps.reduce((sum, g) => sum + g.end - g.start, 0) / recording.samplingRateHz;
  return (
    <section className="import-file" aria-label={recording.recorder} data-testid="import-recorder">
      <h3>{recording.recorder}</h3>
      <dl className="import-facts">
        <dt>length</dt>
        <dd>
          {clock(durationSeconds(recording), 1)} at {recording.samplingRateHz} Hz
          {recording.startedAt && `, from ${recording.startedAt.replace('T', ' ')}`}
        </dd>
        <dt>leads</dt>
        <dd>{recording.leads.map(l => l.name || 'unnamed').join(', ')}</dd>
        {recording.leads.length > 1 && (
          <>
            <dt>ECG</dt>
            <dd>
              <EcgLead recorder={recorder} />
            </dd>
          </>
        )}
        <dt>gaps</dt>
        <dd>{recording.gaps.length === 0 ? 'none' : `${recording.gaps.length}, ${secondsWords(gapSeconds)}`}</dd>
        <dt>marks</dt>
        <dd>
          <Marks recorder={recorder} />
        </dd>
        <dt>segments</dt>
        <dd>{segments.length === 0 ? 'none: the whole recording is one' : segments.map(s => s.name).join(', ')}</dd>
        {patient !== null && (
          <>
            <dt>patient</dt>
            <dd>{patient} (stored with the file name, and included in bundles)</dd>
          </>
        )}
      </dl>
      <Annotations recorder={recorder} />
      {notes.warnings.map(text => (
        <p key={text} className="needs">
          {text}
        </p>
      ))}
      {notes.dropped.length > 0 && <p>Left out: {notes.dropped.join(', ')}.</p>}
      <details>
        <summary>How it was read</summary>
        <ul className="small">
          {notes.understood.map(text => (
            <li key={text}>{text}</li>
          ))}
        </ul>
      </details>
    </section>
  );
}

/** The lead that strip, queue and detector begin with; another may be chosen. */
function EcgLead({ recorder }: { recorder: ImportedRecorder }) {
  const { importing } = useApp();
  const { lead, opened } = recorder;
  return (
    <>
      <select
        aria-label={`ECG of ${opened.recording.recorder}`}
        value={lead.index}
        onChange={e => importing.chooseLead(recorder.row, Number(e.target.value))}
      >
        {opened.recording.leads.map((l, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: leads are known by their place, names may repeat
          <option key={i} value={i}>
            {l.name || `number ${i + 1}`}
          </option>
        ))}
      </select>{' '}
      <span className="small soft">{lead.why}</span>
    </>
  );
}

function unsureWords({ unsureSpans, unsureSeconds }: { unsureSpans: number; unsureSeconds: number }): string {
  const seconds = secondsWords(unsureSeconds);
  return unsureSpans === 1 ? `1 stretch of ${seconds}` : `${unsureSpans} stretches, ${seconds} together`;
}

/** To a tenth of a second; shorter times in ms, as a gap of one sample is no gap of 0.0 s. */
function secondsWords(seconds: number): string {
  return seconds > 0 && seconds < 0.1 ? `${Math.max(1, Math.round(1000 * seconds))} ms` : `${seconds.toFixed(1)} s`;
}

function Marks({ recorder }: { recorder: ImportedRecorder }) {
  const placed = placedMarks(recorder);
  if (placed) {
    return (
      <>
        {placed.marks.length} by {placed.by}
      </>
    );
  }
  const { builtIn } = recorder;
  if (!builtIn) return <>none: the {detectorName} will place them</>;
  const unsure = builtIn.unsureSpans === 0 ? 'it was sure everywhere' : `it was unsure in ${unsureWords(builtIn)}`;
  return (
    <>
      {builtIn.samples.length} by the {detectorName} on {builtIn.leads}, as the files hold none; {unsure}
    </>
  );
}

/** Annotations by their text, each to be read as marks, segments or nothing. */
function Annotations({ recorder }: { recorder: ImportedRecorder }) {
  const { importing } = useApp();
  const groups = annotationUses(recorder).filter(g => g.use !== 'gaps' && g.use !== 'end');
  if (groups.length === 0) return null;
  return (
    <table className="import-annotations">
      <caption>Annotations in the file</caption>
      <TableHead columns={['text', 'how many', { left: 'read as' }, { left: 'because' }]} />
      <tbody>
        {groups.slice(0, 50).map(group => (
          <tr key={group.text}>
            <th scope="row">{group.text}</th>
            <td>{group.count}</td>
            <td className="left">
              <select
                aria-label={`annotations "${group.text}" are`}
                value={group.use}
                onChange={e => importing.readAnnotationsAs(recorder.row, group.text, e.target.value as AnnotationUse)}
              >
                {Object.entries(useWords).map(([use, word]) => (
                  <option key={use} value={use}>
                    {word}
                  </option>
                ))}
              </select>
            </td>
            <td className="left wrap small">{group.why}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
