import type { TextLayout } from '../../formats/text/layout';
import type { ImportRow } from '../../state/import/row';
import { useApp } from '../app-context';
import { ChoiceField } from './fields';

const separatorWords = { ',': 'comma', ';': 'semicolon', '\t': 'tab', space: 'spaces' } as const;
const decimalWords = { '.': 'point', ',': 'comma' } as const;

/** How the columns and numbers of a text file are written; a change looks at the file again. */
export function Separators(props: { row: ImportRow; layout: Pick<TextLayout, 'separator' | 'decimalMark'> }) {
  const { importing } = useApp();
  const { row } = props;
  const { separator, decimalMark } = props.layout;
  const inspectWith = (asked: ImportRow['asked']) =>
    importing.look(row.id, row.meaning, { ...row.asked, separator, decimalMark, ...asked });
  return (
    <>
      <Variables row={row} />
      <ChoiceField
        label="separated by"
        value={separator}
        words={separatorWords}
        onChange={chosen => inspectWith({ separator: chosen })}
      />
      <ChoiceField
        label="decimal mark"
        value={decimalMark}
        words={decimalWords}
        onChange={chosen => inspectWith({ decimalMark: chosen })}
      />
    </>
  );
}

/** Which arrays of a file are read; those of the greatest length, unless a person says otherwise. */
function Variables({ row }: { row: ImportRow }) {
  const { importing } = useApp();
  const { all = [], taken = [] } = row.looked?.variables ?? {};
  if (all.length < 2) return null;
  const choose = (variables: readonly string[]) => importing.look(row.id, row.meaning, { variables });
  // Arrays of another length cannot stand in one table: they give way.
  const ofLength = (length: number) => taken.filter(t => all.some(v => v.name === t && v.length === length));
  return (
    <fieldset className="row">
      <legend>arrays of the file</legend>
      {all.map(({ name, length }) => (
        <label key={name} className="row">
          <input
            type="checkbox"
            checked={taken.includes(name)}
            disabled={taken.length === 1 && taken[0] === name}
            onChange={e => choose(e.target.checked ? [...ofLength(length), name] : taken.filter(t => t !== name))}
          />
          {name} ({length})
        </label>
      ))}
    </fieldset>
  );
}
