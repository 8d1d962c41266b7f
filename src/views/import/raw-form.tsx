import type { RawEncoding, RawLayout } from '../../formats/raw/raw';
import { clock } from '../../state/clocks/text';
import type { ImportRow } from '../../state/import/row';
import { useApp } from '../app-context';
import { ChoiceField, Field, NumberField } from './fields';

const encodingWords: Readonly<Record<RawEncoding, string>> = {
  int16: 'whole numbers, 16 bits',
  int24: 'whole numbers, 24 bits',
  int32: 'whole numbers, 32 bits',
  float32: 'floating point, 32 bits',
};
const orderWords = { little: 'low byte first', big: 'high byte first' } as const;
const sampleBytes = { int16: 2, int24: 3, int32: 4, float32: 4 } as const;

/** Everything a raw file does not say about itself. */
export function RawForm({ row }: { row: ImportRow }) {
  const { importing } = useApp();
  const { raw } = row;
  const change = (part: Partial<RawLayout>) => importing.change(row.id, { raw: { ...raw, ...part } });
  const seconds = (row.file.size - raw.headerBytes) / sampleBytes[raw.encoding] / raw.leads.length / raw.samplingRateHz;
  return (
    <>
      <div className="row">
        <ChoiceField
          label="numbers are"
          value={raw.encoding}
          words={encodingWords}
          onChange={encoding => change({ encoding })}
        />
        <ChoiceField
          label="byte order"
          value={raw.littleEndian ? 'little' : 'big'}
          words={orderWords}
          onChange={order => change({ littleEndian: order === 'little' })}
        />
        <NumberField
          label="samples a second (Hz)"
          value={raw.samplingRateHz}
          onChange={samplingRateHz => change({ samplingRateHz })}
        />
        <NumberField label="units per mV" value={raw.unitsPerMv} onChange={unitsPerMv => change({ unitsPerMv })} />
        <NumberField label="unit that is 0 mV" value={raw.offset} onChange={offset => change({ offset })} />
        <NumberField
          label="bytes to skip at the start"
          value={raw.headerBytes}
          onChange={headerBytes => change({ headerBytes })}
        />
        <Field label="leads, interleaved sample by sample">
          <input
            size={20}
            defaultValue={raw.leads.join(', ')}
            onChange={e => {
              const leads = e.target.value.split(/[,;]/).map(name => name.trim());
              change({ leads: leads.filter(name => name !== '') });
            }}
          />
        </Field>
      </div>
      {Number.isFinite(seconds) && seconds > 0 && (
        <p className="soft small">With these settings the recording lasts {clock(seconds, 1)}.</p>
      )}
    </>
  );
}
