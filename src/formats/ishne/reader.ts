import type { Recording } from '../../core/recording/recording';
import type { ByteSource, ReadControl, SampleSink } from '../bytes/source';
import type { Naming, Opened } from '../opened';
import { readRaw } from '../raw/raw';
import { type IshneHeader, readIshneHeader } from './header';

/** Reads an ambulatory ECG in the ISHNE format; names and dates of birth do not pass. */
export async function readIshne(
  source: ByteSource,
  sink: SampleSink,
  control: ReadControl = {},
  naming: Naming = {},
): Promise<Opened> {
  const header = await readIshneHeader(source);
  const raw = await readRaw(
    source,
    {
      encoding: 'int16',
      littleEndian: true,
      samplingRateHz: header.samplingRateHz,
      leads: header.leads.map(l => l.name),
      unitsPerMv: 1000,
      offset: 0,
      headerBytes: header.ecgOffset,
    },
    sink,
    control,
    { recorder: header.recorder || 'recorder', ...naming },
  );
  return {
    ...raw,
    recording: recordingOf(raw.recording, header, source.name),
    understood: [...raw.understood, ...sayHeader(header)],
    warnings: [...header.warnings, ...raw.warnings, ...missingSamples(raw.recording, header)],
    dropped: header.identified,
  };
}

function recordingOf(raw: Recording, { leads, startedAt }: IshneHeader, fileName: string): Recording {
  return {
    ...raw,
    startedAt,
    leads: raw.leads.map((lead, i) => ({ ...lead, mvPerUnit: leads[i]!.resolutionNv / 1e6, fileUnit: 'nV' })),
    source: `${fileName} (ISHNE 1.0)`,
  };
}

function sayHeader({ leads, pacemaker }: IshneHeader): string[] {
  const noisy = leads.filter(l => l.quality !== '').map(l => `${l.name}: ${l.quality}`);
  return [
    `ISHNE 1.0, leads ${leads.map(l => `${l.name} at ${l.resolutionNv} nV a unit`).join(', ')}.`,
    ...(noisy.length > 0 ? [`The recorder’s own word on its leads: ${noisy.join(', ')}.`] : []),
    ...(pacemaker ? ['The file says that a pacemaker is worn.'] : []),
  ];
}

/** Files count samples of one lead, or of all together. */
function missingSamples({ sampleCount, leads }: Recording, { samples }: IshneHeader): string[] {
  if (samples === sampleCount || samples === sampleCount * leads.length) return [];
  return [`The header promises ${samples} samples, ${sampleCount} of each lead are there.`];
}
