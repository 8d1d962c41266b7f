import { countsUnit, type TextColumn, type TextLayout, withGain } from '../../formats/text/layout';
import { resolutionMs, type TimeFormat } from '../../formats/text/time';
import type { ImportRow } from '../../state/import/row';
import { useApp } from '../app-context';
import { ChoiceField, Field, NumberField } from './fields';
import { PreviewTable } from './preview-table';
import { Separators } from './separators';

const roleWords = { time: 'time', value: 'signal', ignore: 'not read' } as const;
const timeWords: Readonly<Record<TimeFormat | 'none', string>> = {
  none: 'no time column',
  s: 'seconds',
  ms: 'milliseconds',
  us: 'microseconds',
  ns: 'nanoseconds',
  min: 'minutes',
  h: 'hours',
  d: 'days',
  day: 'days since 1899-12-30',
  'day-1904': 'days since 1904-01-01',
  sample: 'sample numbers',
  iso: 'date and time (ISO 8601)',
  clock: 'time of day',
  'epoch-s': 'seconds since 1970',
  'epoch-ms': 'milliseconds since 1970',
  'epoch-us': 'microseconds since 1970',
  'epoch-ns': 'nanoseconds since 1970',
};
const mvPerUnit: Readonly<Record<string, number>> = { nV: 1e-6, uV: 1e-3, mV: 1, V: 1000, [countsUnit]: Number.NaN };

/** What was understood of a text signal; every field may be changed. */
export function TextForm({ row, layout }: { row: ImportRow; layout: TextLayout }) {
  const { importing } = useApp();
  const change = (part: Partial<TextLayout>) => importing.change(row.id, { text: { ...layout, ...part } });
  const time = layout.columns.findIndex(c => c.role === 'time');
  return (
    <>
      <PreviewTable
        caption={`first rows of ${row.file.name}`}
        rows={layout.rows}
        chosen={layout.columns.flatMap((c, i) => (c.role === 'ignore' ? [] : [i]))}
        heads={layout.columns.map((column, i) => (
          <ColumnHead
            // biome-ignore lint/suspicious/noArrayIndexKey: columns have no identity but their place
            key={i}
            column={column}
            place={i + 1}
            onChange={part => change(withColumn(layout, i, part))}
          />
        ))}
      />
      <div className="row">
        <Separators row={row} layout={layout} />
        <NumberField
          label="first line of values"
          size={5}
          value={layout.firstDataLine}
          onChange={firstDataLine => change({ firstDataLine })}
        />
        {time >= 0 && (
          <ChoiceField
            label="time is in"
            value={layout.timeFormat ?? 's'}
            words={withoutNone}
            onChange={timeFormat => change(withTime(layout, time, timeFormat))}
          />
        )}
        <NumberField
          key={layout.timeFormat}
          label="samples a second (Hz)"
          value={layout.samplingRateHz ?? Number.NaN}
          onChange={rate => change({ samplingRateHz: rate > 0 ? rate : null })}
        />
      </div>
      {time >= 0 && (
        <label className="row">
          <input
            type="checkbox"
            checked={layout.acceptIrregular}
            onChange={event => change({ acceptIrregular: event.target.checked })}
          />
          Read although time stamps stray from an even grid: samples keep their order and are not resampled
        </label>
      )}
    </>
  );
}

const { none: _, ...withoutNone } = timeWords;

function ColumnHead(props: { column: TextColumn; place: number; onChange: (part: Partial<TextColumn>) => void }) {
  const { column, place, onChange } = props;
  const known = column.unit in mvPerUnit;
  return (
    <div className="import-column">
      <Field label={`column ${place}`}>
        <input size={10} maxLength={60} value={column.name} onChange={e => onChange({ name: e.target.value })} />
      </Field>
      <select
        aria-label={`column ${place} is`}
        value={column.role}
        onChange={e => onChange({ role: e.target.value as TextColumn['role'] })}
      >
        {Object.entries(roleWords).map(([role, word]) => (
          <option key={role} value={role}>
            {word}
          </option>
        ))}
      </select>
      {column.role === 'value' && (
        <select
          aria-label={`unit of column ${place}`}
          value={known ? column.unit : ''}
          onChange={e => onChange({ unit: e.target.value, mvPerUnit: mvPerUnit[e.target.value] ?? 1, zero: 0 })}
        >
          {!known && <option value="">{column.unit || 'unknown, as mV'}</option>}
          {Object.keys(mvPerUnit).map(unit => (
            <option key={unit}>{unit}</option>
          ))}
        </select>
      )}
      {column.role === 'value' && column.unit === countsUnit && (
        <>
          <NumberField
            label="counts per mV"
            size={6}
            value={Number((1 / column.mvPerUnit).toPrecision(12))}
            onChange={perMv => onChange(withGain(column, perMv, column.zero ?? 0))}
          />
          <NumberField
            label="count that is 0 mV"
            size={6}
            value={column.zero ?? 0}
            onChange={zero => onChange({ zero })}
          />
        </>
      )}
    </div>
  );
}

/** One column at most is the time; without one there is no time format. */
function withColumn(layout: TextLayout, at: number, part: Partial<TextColumn>): Partial<TextLayout> {
  const columns = layout.columns.map((c, i): TextColumn => {
    if (i === at)
      return { ...c, ...part, ...(part.role === 'value' && c.unit === '' ? { unit: 'mV', mvPerUnit: 1 } : {}) };
    return part.role === 'time' && c.role === 'time' ? { ...c, role: 'ignore' } : c;
  });
  const time = columns.findIndex(c => c.role === 'time');
  if (time < 0) return { columns, timeFormat: null, stampResolutionMs: 0 };
  return { columns, ...withTime(layout, time, layout.timeFormat ?? 's') };
}

function withTime(layout: TextLayout, column: number, timeFormat: TimeFormat): Partial<TextLayout> {
  const cells = layout.rows.map(r => r[column] ?? '');
  const { rateIn, samplingRateHz } = layout;
  // A rate that was measured in another unit says nothing of this one.
  const kept = Object.values(rateIn).includes(samplingRateHz ?? 0) ? null : samplingRateHz;
  return {
    timeFormat,
    samplingRateHz: timeFormat === layout.timeFormat ? samplingRateHz : (rateIn[timeFormat] ?? kept),
    stampResolutionMs: resolutionMs(cells, timeFormat, layout.decimalMark),
  };
}
