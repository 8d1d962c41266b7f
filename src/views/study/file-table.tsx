import type { FilePlace, ImportPlan } from '../../core/review/study/import-plan';
import type { NamedFile } from '../../core/review/study/naming';
import { type ChosenStudyFile, doubtsOf, type StudyFiles } from '../../state/study/files';

/** Every chosen file: whose it is by its name, what it becomes, how far it is. */
export function FileTable(props: {
  files: readonly ChosenStudyFile[];
  plan: ImportPlan;
  names: readonly (NamedFile | null)[];
  busy: boolean;
  onChange: StudyFiles['change'];
}) {
  const { files, plan, names, busy, onChange } = props;
  return (
    <div className="study-scroll">
      <table data-testid="naming-preview" className="study-files">
        <thead>
          <tr>
            <th scope="col">take</th>
            <th scope="col" className="left">
              file
            </th>
            <th scope="col" className="left">
              volunteer
            </th>
            <th scope="col" className="left">
              recorder
            </th>
            <th scope="col" className="left">
              activity
            </th>
            <th scope="col" className="left">
              becomes
            </th>
          </tr>
        </thead>
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
              <td className="left">{names[i]?.participant ?? '–'}</td>
              <td className="left">{names[i]?.recorder ?? '–'}</td>
              <td className="left">{names[i]?.activity ?? '–'}</td>
              <Becomes file={file} place={plan.places[i]!} />
            </tr>
          ))}
        </tbody>
      </table>
    </div>
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
