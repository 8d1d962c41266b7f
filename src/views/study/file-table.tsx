import { useState } from 'react';
import type { FilePlace, ImportPlan } from '../../core/review/study/import-plan';
import { type ChosenStudyFile, doubtsOf, type FileByName, type StudyFiles } from '../../state/study/files';
import { TableHead } from '../controls/table-head';

/** Every chosen file: whose it is by its name, what it becomes, how far it is. */
export function FileTable(props: {
  files: readonly ChosenStudyFile[];
  plan: ImportPlan;
  names: readonly FileByName[];
  busy: boolean;
  onChange: StudyFiles['change'];
}) {
  const { files, plan, names, busy, onChange } = props;
  return (
    <div className="study-scroll">
      <table data-testid="naming-preview" className="study-files">
        <TableHead
          columns={[
            'take',
            { left: 'file' },
            { left: 'volunteer' },
            { left: 'recorder' },
            { left: 'activity' },
            { left: 'date' },
            { left: 'read by' },
            { left: 'becomes' },
          ]}
        />
        <tbody>
          {files.map((file, i) => (
            <tr key={file.path}>
              <td>
                <input
                  type="checkbox"
                  aria-label={`take ${file.path}`}
                  checked={file.wanted && file.stage !== 'imported'}
                  disabled={busy || file.stage === 'imported'}
                  onChange={e => onChange(file.path, { wanted: e.target.checked })}
                />
              </td>
              <th scope="row" className="left">
                {file.path}
              </th>
              <Named file={file} read={names[i]!} busy={busy} onChange={onChange} />
              <Becomes file={file} place={plan.places[i]!} />
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

const parts = ['participant', 'recorder', 'activity', 'date'] as const;
type Part = (typeof parts)[number];
const partWords: Record<Part, string> = {
  participant: 'volunteer',
  recorder: 'recorder',
  activity: 'activity',
  date: 'date',
};

/** What a file's name says and by which pattern, or what a person says instead. */
function Named(props: { file: ChosenStudyFile; read: FileByName; busy: boolean; onChange: StudyFiles['change'] }) {
  const { file, read, busy, onChange } = props;
  const [edited, setEdited] = useState<Record<Part, string> | null>(null);
  const { named, pattern } = read;
  const isFixed = busy || file.stage === 'imported';
  if (edited && !isFixed) {
    return <Correction file={file} edited={edited} onEdit={setEdited} onChange={onChange} />;
  }
  const begin = () =>
    setEdited({
      participant: named?.participant ?? '',
      recorder: named?.recorder ?? '',
      activity: named?.activity ?? '',
      date: named?.date ?? '',
    });
  return (
    <>
      {parts.map(part => (
        <td key={part} className="left">
          {named?.[part] ?? '–'}
        </td>
      ))}
      <td className="left">
        <span className="soft small">{readBy(file, pattern)}</span>
        {!isFixed && (
          <button type="button" className="quiet" aria-label={`correct the name of ${file.path}`} onClick={begin}>
            Correct
          </button>
        )}
      </td>
    </>
  );
}

function readBy({ corrected }: ChosenStudyFile, pattern: number | null): string {
  if (corrected) return 'by hand ';
  return pattern === null ? '' : `pattern ${pattern + 1} `;
}

function Correction(props: {
  file: ChosenStudyFile;
  edited: Record<Part, string>;
  onEdit: (edited: Record<Part, string> | null) => void;
  onChange: StudyFiles['change'];
}) {
  const { file, edited, onEdit, onChange } = props;
  const participant = edited.participant.trim();
  const or = (text: string) => text.trim() || null;
  const keep = () => {
    const { recorder, activity, date } = edited;
    const corrected = { participant, recorder: or(recorder), activity: or(activity), date: or(date) };
    onChange(file.path, { corrected });
    onEdit(null);
  };
  const asNamed = () => {
    onChange(file.path, { corrected: null });
    onEdit(null);
  };
  return (
    <>
      {parts.map(part => (
        <td key={part} className="left">
          <input
            type={part === 'date' ? 'date' : 'text'}
            size={10}
            maxLength={part === 'participant' ? 100 : 200}
            aria-label={`${partWords[part]} of ${file.path}`}
            value={edited[part]}
            onChange={e => onEdit({ ...edited, [part]: e.target.value })}
          />
        </td>
      ))}
      <td className="left">
        <button type="button" disabled={participant === ''} onClick={keep}>
          Keep
        </button>{' '}
        <button type="button" onClick={asNamed}>
          As named
        </button>
      </td>
    </>
  );
}

function Becomes({ file, place }: { file: ChosenStudyFile; place: FilePlace }) {
  if (file.stage === 'imported') {
    return (
      <td className="left wrap">
        imported
        <Doubts texts={file.found} />
      </td>
    );
  }
  if (file.stage === 'reading') {
    const percent = Math.round(100 * (file.share ?? 0));
    return (
      <td className="left">
        <progress aria-label={`reading ${file.path}`} max={100} value={percent} /> {percent} %
      </td>
    );
  }
  if (file.stage === 'failed') return <td className="left wrap needs">not imported: {file.failure}</td>;
  const doubts = place.use === 'import' ? doubtsOf(file.row) : [];
  return (
    <td className={place.use === 'left out' ? 'left wrap needs' : 'left wrap'}>
      {place.becomes}
      <Doubts texts={doubts} />
    </td>
  );
}

function Doubts({ texts }: { texts: readonly string[] }) {
  return texts.map(text => (
    <div key={text} className="soft small">
      {text}
    </div>
  ));
}
