import { addStretch } from '../core/recording/pieces';
import { createPyramidBuilder, type Pyramid, type PyramidBuilder, pyramidToBuffer } from '../core/recording/pyramid';
import type { Lead, SampleArray, SampleFormat } from '../core/recording/recording';
import type { Span } from '../core/units';
import { asStorageProblem } from './problem';
import type { FileAppender, SignalFiles } from './signal-files';
import { type LeadId, pyramidPath, samplesPath } from './signals';

/**
 * Writes the signals of one recording, lead by lead, and builds the pyramids on the way. Runs in a worker. A lead begins
 * with its first block, whose array type is the lead's format.
 */
export interface SignalWriter {
  /** Words that follow those already written to this lead; the array may be reused once the answer is there. */
  write(lead: number, words: SampleArray): void | Promise<void>;
  /** So many samples of a lead, which has begun, were not recorded: no words are kept of them. */
  skip(lead: number, count: number): void;
  /** Forgets everything written and begins again. */
  restart(): Promise<void>;
  /** Makes everything so far readable; answers what that is, by lead. */
  settle(): Promise<readonly WrittenLead[]>;
  /** Pyramid of what a lead holds so far. */
  pyramid(lead: number): Pyramid;
  /** Stores the pyramids and closes the files. */
  finish(): Promise<readonly WrittenLead[]>;
  /** Closes the files and removes what was written. */
  discard(): Promise<void>;
}

export interface WrittenLead extends Pick<Lead, 'format' | 'sampleCount'> {
  readonly unrecorded: readonly Span[];
}

interface OpenLead {
  readonly format: SampleFormat;
  readonly file: FileAppender;
  readonly builder: PyramidBuilder;
  /** Small blocks gather here, so that files and pyramids see few large ones. */
  readonly stage: SampleArray;
  staged: number;
  /** How many of the staged words the pyramid has already. */
  built: number;
  /** Samples of the time line so far. */
  reached: number;
  readonly unrecorded: Span[];
}

const stageSamples = 262_144;

export async function createSignalWriter(files: SignalFiles, ids: Omit<LeadId, 'lead'>): Promise<SignalWriter> {
  const leads: OpenLead[] = [];
  const begin = async (lead: number, words: SampleArray): Promise<void> => {
    for (let i = leads.length; i <= lead; i++) {
      leads.push(await openLead(words, await files.create(samplesPath({ ...ids, lead: i }))));
    }
  };
  const closeAll = async () => {
    for (const { file } of leads.splice(0)) await file.close();
  };
  const removeAll = async () => {
    await closeAll().catch(() => undefined);
    await files.remove(ids.session, ids.recording);
  };
  const settle = async (): Promise<WrittenLead[]> => {
    for (const lead of leads) {
      await drain(lead);
      await lead.file.settle();
    }
    return leads.map(({ format, reached, unrecorded }) => {
      return { format, sampleCount: reached, unrecorded: [...unrecorded] };
    });
  };
  const finish = async () => {
    const done = await settle();
    const pyramids = leads.map(l => l.builder.finish());
    await closeAll();
    for (const [lead, pyramid] of pyramids.entries()) {
      const file = await files.create(pyramidPath({ ...ids, lead }));
      await file.append(new Uint8Array(pyramidToBuffer(pyramid)));
      await file.close();
    }
    return done;
  };
  await guarded(removeAll);
  return {
    write(lead, words) {
      const open = leads[lead];
      if (!open) return guarded(() => begin(lead, words).then(() => put(leads[lead]!, words)));
      try {
        return put(open, words)?.catch(fail);
      } catch (error) {
        return fail(error);
      }
    },
    skip(lead, count) {
      const open = leads[lead];
      if (!open) throw new RangeError(`lead ${lead} has not begun`);
      skip(open, count);
    },
    restart: () => guarded(removeAll),
    settle: () => guarded(settle),
    pyramid: lead => leads[lead]!.builder.finish(),
    finish: () => guarded(finish),
    discard: () => guarded(removeAll),
  };
}

async function openLead(words: SampleArray, file: FileAppender): Promise<OpenLead> {
  const format = words instanceof Int16Array ? 'int16' : words instanceof Int32Array ? 'int32' : 'float32';
  const Words = words.constructor as new (length: number) => SampleArray;
  return {
    format,
    file,
    builder: createPyramidBuilder(format),
    stage: new Words(stageSamples),
    staged: 0,
    built: 0,
    reached: 0,
    unrecorded: [],
  };
}

/** Answers with a promise only where the file does, so that a sync file takes many small blocks at no cost. */
function put(lead: OpenLead, words: SampleArray): void | Promise<void> {
  if (words.constructor !== lead.stage.constructor) throw new RangeError('the format changed in the middle of a lead');
  for (let from = 0; from < words.length; ) {
    const left = words.length - from;
    const take = lead.staged === 0 && left >= stageSamples ? left : Math.min(left, stageSamples - lead.staged);
    const part = words.subarray(from, from + take);
    from += take;
    const waiting = take >= stageSamples ? pass(lead, part) : stage(lead, part);
    if (waiting) {
      const rest = words.subarray(from);
      return waiting.then(() => put(lead, rest));
    }
  }
}

function stage(lead: OpenLead, part: SampleArray): void | Promise<void> {
  lead.stage.set(part, lead.staged);
  lead.staged += part.length;
  return lead.staged === stageSamples ? drain(lead) : undefined;
}

function drain(lead: OpenLead): void | Promise<void> {
  const words = lead.stage.subarray(0, lead.staged);
  const built = lead.built;
  lead.staged = lead.built = 0;
  return pass(lead, words, built);
}

/** The pyramid has `built` of the words already. */
function pass(lead: OpenLead, words: SampleArray, built = 0): void | Promise<void> {
  lead.builder.push(words.subarray(built));
  lead.reached += words.length - built;
  return lead.file.append(new Uint8Array(words.buffer, words.byteOffset, words.byteLength));
}

function skip(lead: OpenLead, count: number): void {
  lead.builder.push(lead.stage.subarray(lead.built, lead.staged));
  lead.reached += lead.staged - lead.built;
  lead.built = lead.staged;
  lead.builder.skip(count);
  addStretch(lead.unrecorded, lead.reached, lead.reached + count);
  lead.reached += count;
}

async function guarded<T>(work: () => Promise<T>): Promise<T> {
  return work().catch(fail);
}

function fail(error: unknown): never {
  throw asStorageProblem(error);
}
