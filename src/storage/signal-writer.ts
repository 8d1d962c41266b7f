import { createPyramidBuilder, type Pyramid, pyramidToBuffer } from '../core/recording/pyramid';
import type { Lead, SampleArray } from '../core/recording/recording';
import { asStorageProblem } from './problem';
import type { FileAppender, SignalFiles } from './signal-files';
import { type LeadId, pyramidPath, wordsPath } from './signals';

/** Writes the signals of one recording, lead by lead, building the pyramids on the way. Runs in a worker. */
export interface SignalWriter {
  /** Words that follow those already written to this lead; the array may be reused afterwards. */
  write(lead: number, words: SampleArray): void | Promise<void>;
  /** Makes everything so far readable; answers how many samples of each lead are. */
  flush(): Promise<readonly number[]>;
  /** Pyramid of what was written to a lead so far. */
  pyramid(lead: number): Pyramid;
  /** Stores the pyramids and closes the files. */
  finish(): Promise<void>;
  /** Closes the files and removes what was written. */
  discard(): Promise<void>;
}

type LeadShape = Pick<Lead, 'format' | 'samplingRateHz'>;
type Ids = Omit<LeadId, 'lead'>;

export async function createSignalWriter(
  files: SignalFiles,
  ids: Ids,
  leads: readonly LeadShape[],
): Promise<SignalWriter> {
  const appenders: FileAppender[] = [];
  const closeAll = async () => {
    for (const appender of appenders.splice(0)) await appender.close();
  };
  const guarded = async <T>(work: () => Promise<T>): Promise<T> => {
    try {
      return await work();
    } catch (error) {
      throw asStorageProblem(error);
    }
  };
  await guarded(async () => {
    await files.remove(ids.session, ids.recording);
    for (const lead of leads.keys()) appenders.push(await files.create(wordsPath({ ...ids, lead })));
  });
  const builders = leads.map(l => createPyramidBuilder(l.format, l.samplingRateHz));
  const written = leads.map(() => 0);

  return {
    write(lead, words) {
      builders[lead]!.push(words);
      written[lead]! += words.length;
      const bytes = new Uint8Array(words.buffer, words.byteOffset, words.byteLength);
      try {
        // Only what answers with a promise is waited for: a sync handle takes millions of small blocks.
        return appenders[lead]!.append(bytes)?.catch(error => {
          throw asStorageProblem(error);
        });
      } catch (error) {
        throw asStorageProblem(error);
      }
    },
    flush: () =>
      guarded(async () => {
        const ready = [...written];
        for (const appender of appenders) await appender.flush();
        return ready;
      }),
    pyramid: lead => builders[lead]!.finish(),
    finish: () =>
      guarded(async () => {
        await closeAll();
        for (const lead of leads.keys()) {
          const file = await files.create(pyramidPath({ ...ids, lead }));
          await file.append(new Uint8Array(pyramidToBuffer(builders[lead]!.finish())));
          await file.close();
        }
      }),
    discard: () =>
      guarded(async () => {
        await closeAll().catch(() => undefined);
        await files.remove(ids.session, ids.recording);
      }),
  };
}
