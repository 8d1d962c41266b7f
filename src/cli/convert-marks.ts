import { replay } from '../core/marks/log';
import type { Marks } from '../core/marks/markset';
import { detectedOf } from '../core/review/session';
import { inflated, sniff } from '../formats/open';
import { type MarksClock, mostSamples, previewMarks, readMarks } from '../formats/text/marks';
import { marksText } from '../formats/text/marks-writer';
import { type Given, numberFlag, textFlag, UsageError } from './command';
import { openFile } from './files';
import type { FindingsLog } from './findings';
import type { OutKind } from './out-kind';
import { chooseLog, type LoadedRecording } from './recording-input';

export async function looksLikeMarks(path: string, given: Given): Promise<boolean> {
  return (await sniff(await textOf(path, given))).format === 'text-marks';
}

/** Marks as one column of text; from a list when `loaded` is null, else those the recording carries or a rater left. */
export async function convertMarks(
  path: string,
  kind: OutKind,
  given: Given,
  found: FindingsLog,
  loaded: LoadedRecording | null,
): Promise<Uint8Array> {
  if (kind !== 'csv') throw new UsageError('marks alone are written as .csv');
  const unit = textFlag(given, 'marks') ?? 'sample';
  if (unit !== 'sample' && unit !== 's' && unit !== 'rr-ms')
    throw new UsageError(`--marks is sample, s or rr-ms, not ${unit}`);
  const clock = loaded?.recording ?? listClock(given);
  const marks = loaded ? marksOf(loaded, given) : await listedMarks(path, clock, found, given);
  return new TextEncoder().encode(marksText(marks, clock.samplingRateHz, unit));
}

/** Marks of the recording: a rater's reviewed ones with --rater, else the detected ones. */
function marksOf(loaded: LoadedRecording, given: Given): Marks {
  const rater = textFlag(given, 'rater');
  if (rater !== undefined) {
    const log = chooseLog(loaded, rater);
    return replay(log, detectedOf(loaded.reviewed!.session)).recordings.get(loaded.recording.id)!.marks;
  }
  if (!loaded.marks) throw new UsageError(`${loaded.recording.source} carries no marks`);
  return loaded.marks;
}

const textOf = (path: string, given?: Given) =>
  inflated(openFile(path), {}, given && textFlag(given, 'variables')?.split(','));

/** `given`: of the command whose own file the list is. */
export async function listedMarks(path: string, clock: MarksClock, found: FindingsLog, given?: Given): Promise<Marks> {
  const source = await textOf(path, given);
  const layout = await previewMarks(source, clock);
  const { marks, understood, warnings, dropped } = await readMarks(source, layout, clock);
  found.addFile(path, 'list of marks');
  found.add({ understood, doubts: [...layout.doubts, ...warnings], dropped });
  return marks;
}

/** A list of marks alone knows neither rate nor length. */
function listClock(given: Given): MarksClock {
  const samplingRateHz = numberFlag(given, 'rate', 0, true);
  if (samplingRateHz === undefined) throw new UsageError('a list of marks needs --rate');
  return { samplingRateHz, sampleCount: mostSamples, startedAt: null };
}
