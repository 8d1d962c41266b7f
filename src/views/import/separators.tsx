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
    importing.look(row.id, row.meaning, { separator, decimalMark, ...asked });
  return (
    <>
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
