import { subtract } from '../../core/marks/spans';
import { ecgLeadOf } from '../../core/recording/ecg-lead';
import type { SessionRecording } from '../../core/review/session';
import type { ByteSource, ReadControl } from '../bytes/source';
import { FormatError } from '../format-error';
import { type OpenedBundle, readBundle } from './reader';
import { readStudy } from './study';

/** Everything of a bundle looked at: schema, paths, checksums of all entries, hash chain and replay of every log. */
export interface BundleCheck {
  /** Null when the file cannot be opened at all. */
  readonly bundle: OpenedBundle | null;
  /** What is wrong, in words; empty for a sound bundle. */
  readonly problems: readonly string[];
}

export async function checkBundle(source: ByteSource, control: ReadControl = {}): Promise<BundleCheck> {
  const problems: string[] = [];
  const attempt = async <T>(act: () => Promise<T>): Promise<T | null> => {
    try {
      return await act();
    } catch (error) {
      if (!(error instanceof FormatError)) throw error;
      problems.push(error.message);
      return null;
    }
  };
  const bundle = await attempt(() => readBundle(source, control));
  if (!bundle) return { bundle, problems };
  problems.push(...bundle.warnings, ...bundle.reviewed.session.recordings.flatMap(implausible));
  for (const { recording } of bundle.reviewed.session.recordings) {
    for (const i of recording.leads.keys()) {
      await attempt(() => bundle.readLead(recording.id, i, () => undefined, control));
    }
  }
  return { bundle, problems };
}

/** What fits the schema and still cannot be: marks beyond the end, a scale of 0, a lead of another length, unlisted gaps. */
function implausible({ recording, detected }: SessionRecording): string[] {
  const problems: string[] = [];
  const say = (problem: string) => problems.push(`Recording ${recording.id}: ${problem}.`);
  const beyond = detected.length - detected.filter(m => m < recording.sampleCount).length;
  if (beyond > 0) say(`${beyond} detected marks lie beyond its end`);
  const wordless = subtract(recording.leads[ecgLeadOf(recording)]?.unrecorded ?? [], recording.gaps);
  if (wordless.length > 0) say(`nothing is recorded from sample ${wordless[0]!.start} on, which is not among its gaps`);
  for (const lead of recording.leads) {
    const name = lead.name || 'a lead without a name';
    if (!Number.isFinite(lead.mvPerUnit) || lead.mvPerUnit === 0) say(`the scale of ${name} is ${lead.mvPerUnit}`);
    const seconds = lead.sampleCount / lead.samplingRateHz - recording.sampleCount / recording.samplingRateHz;
    const slack = 1.5 / Math.min(lead.samplingRateHz, recording.samplingRateHz);
    if (Math.abs(seconds) > slack)
      say(`${name} is ${Math.abs(seconds).toFixed(3)} s ${seconds > 0 ? 'longer' : 'shorter'} than it`);
  }
  return problems;
}

/** A study bundle: its list, the checksum of each session bundle, and each of those by `checkBundle`. */
export async function checkStudy(source: ByteSource, control: ReadControl = {}): Promise<StudyCheck> {
  const { sessions, warnings } = await readStudy(source);
  const problems = [...warnings];
  const bundles: OpenedBundle[] = [];
  for (const session of sessions) {
    if (!(await session.isUnchanged(control))) problems.push(`Session ${session.id}: its bundle was changed.`);
    const found = await checkBundle(session.source, control);
    problems.push(...found.problems.map(p => `Session ${session.id}: ${p}`));
    if (found.bundle) bundles.push(found.bundle);
  }
  return { bundles, problems };
}

export interface StudyCheck {
  /** Those of its sessions that can be opened, in its order. */
  readonly bundles: readonly OpenedBundle[];
  /** What is wrong, in words that name the session; empty for a sound study. */
  readonly problems: readonly string[];
}
