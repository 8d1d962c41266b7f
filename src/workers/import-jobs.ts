import { readBundle } from '../formats/bundle-reader';
import { type EdfOptions, type OpenedEdf, readEdf } from '../formats/edf-reader';
import { fileSource } from '../formats/source';
import type { LeadId } from '../storage/signals';
import type { JobControl } from './door';
import { readAhead } from './read-ahead';
import { type ImportProgress, readIntoStore } from './read-into-store';

export interface EdfImport {
  readonly file: File;
  /** Where the signals go; the recording gets this id. */
  readonly ids: Omit<LeadId, 'lead'>;
  readonly options: EdfOptions;
}

/** Unpacks the signals of one recording of a session bundle. */
export interface BundleRecordingImport {
  readonly file: File;
  readonly ids: Omit<LeadId, 'lead'>;
}

export const importJobs = {
  bundleRecording: ({ file, ids }: BundleRecordingImport, control: JobControl<ImportProgress>): Promise<void> =>
    readIntoStore(ids, control, async (sink, reading) => {
      const bundle = await readBundle(fileSource(file), reading);
      await bundle.readRecording(ids.recording, sink, reading);
    }),
  edf: ({ file, ids, options }: EdfImport, control: JobControl<ImportProgress>): Promise<OpenedEdf> =>
    readIntoStore(ids, control, (sink, reading) =>
      readEdf(readAhead(fileSource(file)), { ...options, id: ids.recording }, sink, reading),
    ),
};
