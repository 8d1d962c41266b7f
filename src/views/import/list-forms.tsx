import { type MarkUnit, unitWords } from '../../formats/text/mark-units';
import type { MarksLayout } from '../../formats/text/marks';
import { asPersonSays, type SegmentsLayout, type SegmentUnit } from '../../formats/text/segments';
import type { ImportRow } from '../../state/import/row';
import { useApp } from '../app-context';
import { ChoiceField, NumberField } from './fields';
import { PreviewTable } from './preview-table';
import { Separators } from './separators';

const firstWords = { '0': '0', '1': '1' } as const;
const segmentUnitWords: Readonly<Record<SegmentUnit, string>> = {
  s: 'seconds',
  ms: 'milliseconds',
  min: 'minutes',
  h: 'hours',
  elapsed: 'minutes:seconds from the start',
  clock: 'times of day',
  iso: 'dates and times',
  sample: 'samples',
};

function columnWords(count: number, header: readonly string[] | null = null): Record<string, string> {
  const entries = Array.from({ length: count }, (_, c) => [String(c), header?.[c] || `column ${c + 1}`]);
  return Object.fromEntries(entries) as Record<string, string>;
}

const widest = (rows: readonly (readonly string[])[]) => Math.max(1, ...rows.map(r => r.length));

/** A list of detected marks: which column, and what its numbers are. */
export function MarksForm({ row, layout }: { row: ImportRow; layout: MarksLayout }) {
  const { importing } = useApp();
  const change = (part: Partial<MarksLayout>) => importing.change(row.id, { marks: { ...layout, ...part } });
  const columns = columnWords(widest(layout.rows), layout.header);
  return (
    <>
      <PreviewTable
        caption={`first rows of ${row.file.name}`}
        rows={layout.rows}
        chosen={[layout.column]}
        heads={Object.values(columns)}
      />
      <div className="row">
        <ChoiceField
          label="marks are"
          value={layout.unit}
          words={unitWords}
          onChange={(unit: MarkUnit) => change({ unit, why: 'as asked' })}
        />
        <ChoiceField
          label="in"
          value={String(layout.column)}
          words={columns}
          onChange={column => change({ column: Number(column) })}
        />
        {layout.unit === 'sample' && (
          <ChoiceField
            label="the first sample is number"
            value={layout.firstSample === 1 ? '1' : '0'}
            words={firstWords}
            onChange={n => change({ firstSample: n === '1' ? 1 : 0 })}
          />
        )}
        {(layout.unit === 'rr-ms' || layout.unit === 'rr-s') && (
          <NumberField
            label="first beat at (s)"
            value={layout.startSeconds}
            onChange={startSeconds => change({ startSeconds })}
          />
        )}
        <Separators row={row} layout={layout} />
      </div>
    </>
  );
}

/** A list of segments: which columns are name, start and end, and in which unit. */
export function SegmentsForm({ row, layout }: { row: ImportRow; layout: SegmentsLayout }) {
  const { importing } = useApp();
  const change = (part: Partial<SegmentsLayout>) => importing.change(row.id, { segments: { ...layout, ...part } });
  const columns = columnWords(widest(layout.rows));
  const parts = [
    ['name in', 'nameColumn'],
    ['start in', 'startColumn'],
    ['end in', 'endColumn'],
  ] as const;
  return (
    <>
      <PreviewTable caption={`first rows of ${row.file.name}`} rows={layout.rows} heads={Object.values(columns)} />
      <div className="row">
        {parts.map(([label, field]) => (
          <ChoiceField
            key={field}
            label={label}
            value={String(layout[field])}
            words={columns}
            onChange={column => change({ [field]: Number(column) })}
          />
        ))}
        <ChoiceField
          label="start and end are"
          value={layout.unit}
          words={segmentUnitWords}
          onChange={unit => change({ unit, why: asPersonSays })}
        />
        <Separators row={row} layout={layout} />
      </div>
    </>
  );
}
