import { leadsWith } from '../core/detector/lead-choice';
import { createFeatureExtractor } from '../core/detector/suspicion/features';
import { suspicions } from '../core/detector/suspicion/suspicion';
import { replay } from '../core/marks/log';
import type { Marks } from '../core/marks/markset';
import { ecgLeadOf } from '../core/recording/ecg-lead';
import { wordCount, zeroWord } from '../core/recording/pieces';
import { pushLeads } from '../core/recording/push-leads';
import { type Segment, wholeSegment } from '../core/recording/recording';
import { detectedOf } from '../core/review/session';
import { sampledReviews } from '../core/review/standing/sampled';
import { scoreReview } from '../core/review/standing/score-review';
import { type LaidOutPlan, layOut, planSample } from '../core/sample/plan';
import { span } from '../core/units';
import { type CliCommand, type Given, numberFlag, textFlag, UsageError } from './command';
import { detectLeads } from './detect';
import { FindingsLog, strictFlag } from './findings';
import { readMarkList } from './lists';
import { manyFlags } from './many/flags';
import { madeFrom, provenanceFlag, writeProvenance } from './provenance';
import { chooseLead, chooseLog, inputFlags, type LoadedRecording, loadRecording } from './recording-input';

export const sampleCommand: CliCommand = {
  name: 'sample',
  summary: 'plans a sampled review: stretches, classes, bounds, and the order in which they are drawn',
  usage: [
    'sample FILE --seed NUMBER [--segment NAME] [--stretch-s SECONDS] [--marks d.csv] [--json]',
    'sample FILE... --seed NUMBER --out DIR [--jobs N] [--json]',
    'sample BUNDLE.zip --rater CODE [--recording ID] [--segment NAME]',
    'sample FILE --seed NUMBER --raw int16 --rate HZ --marks d.csv [--gain UNITS] [--offset WORD] [--json]',
  ],
  flags: {
    seed: { value: 'NUMBER', about: 'whole number that the order follows from' },
    segment: { value: 'NAME', about: 'only this segment (default all of them)' },
    'stretch-s': { value: 'SECONDS', about: 'length of a stretch (default 5)' },
    marks: { value: 'CSV', about: "the recorder's marks, where the file carries none: one column sample" },
    lead: {
      value: 'NAME',
      about: 'name or number (from 1) of one lead (default all of one rate together, the one most like an ECG first)',
    },
    rater: { value: 'CODE', about: "the sample in this rater's log, as input of sample-interval; takes no seed" },
    ...inputFlags,
    ...strictFlag,
    ...provenanceFlag,
    ...manyFlags,
    json: { about: 'seed, rate, weights, stretches in order of time, and the order as indices of them' },
  },
  examples: ['sample session.zip --seed 2407 --json', 'sample night.edf --seed 7 --marks d.csv > order.csv'],
  details: [
    'FILE is EDF, EDF+, text, a session bundle or raw words, also .gz. The CSV has one line a stretch in the order drawn:',
    'draw,start,end,class,weight,bound, in samples, half-open. Whoever reviews in this order must not see it.',
  ].join('\n'),
  many: { ending: given => (given.flags['json'] || given.flags['rater'] ? 'json' : 'csv') },
  async run(given, output) {
    if (given.files.length !== 1) throw new UsageError('sample takes one file, or many with --out DIR');
    const rater = textFlag(given, 'rater');
    if (rater !== undefined) {
      const findings = new FindingsLog(output);
      const steps = await stepsInLog(given, rater, findings);
      findings.refuseIfStrict(given);
      writeProvenance(sampleCommand, given, findings);
      output.print(JSON.stringify({ ...steps, provenance: madeFrom(sampleCommand, given, findings) }));
      return 0;
    }
    const seed = seedOf(given);
    const found = new FindingsLog(output);
    const loaded = await loadRecording(given.files[0]!, given, found);
    const laidOut = await planned(loaded, seed, given, found);
    found.refuseIfStrict(given);
    writeProvenance(sampleCommand, given, found);
    if (given.flags['json']) {
      const provenance = madeFrom(sampleCommand, given, found);
      output.print(JSON.stringify({ ...planJson(laidOut, loaded), ...found.all, provenance }));
    } else output.print(planCsv(laidOut));
    return 0;
  },
};

/** Plan and steps of a review as plain numbers: sample-interval computes its number from them. */
async function stepsInLog(given: Given, rater: string, findings: FindingsLog) {
  if (given.flags['seed'] !== undefined) throw new UsageError('--seed goes without --rater: the log has the seed');
  const loaded = await loadRecording(given.files[0]!, given, findings);
  const log = chooseLog(loaded, rater);
  const { session } = loaded.reviewed!;
  const item = session.recordings.find(r => r.recording.id === loaded.recording.id)!;
  const review = replay(log, detectedOf(session)).recordings.get(item.recording.id)!;
  const all = sampledReviews(item, review, scoreReview(item, review, session.settings));
  const segment = textFlag(given, 'segment');
  const found = all.find(s => segment === undefined || s.laidOut.plan.segment === segment);
  if (!found) throw new UsageError(`the log of ${rater} has no sample of ${segment ?? item.recording.id}`);
  const { plan } = found.laidOut;
  return {
    alpha: 0.05,
    seed: plan.seed,
    stretches: plan.bounds.map((u, i) => ({ u, g: plan.weights[plan.classes[i]!], class: plan.classes[i] })),
    steps: (found.steps ?? []).map(({ stretch, kind, errors, intervals }) => {
      if (kind === 'skipped') return { i: stretch, skipped: true };
      return { i: stretch, e: errors, m: intervals, ...(kind === 'known' ? { known: true } : {}) };
    }),
  };
}

function seedOf(given: Given): number {
  const seed = numberFlag(given, 'seed', 0);
  if (seed === undefined) throw new UsageError('sample needs --seed: the order follows from it');
  if (!Number.isSafeInteger(seed)) throw new UsageError('--seed needs a whole number');
  return seed;
}

async function planned(loaded: LoadedRecording, seed: number, given: Given, found: FindingsLog): Promise<LaidOutPlan> {
  const { recording } = loaded;
  const detected = marksOf(loaded, given, found);
  const asked = textFlag(given, 'lead');
  // A session has its lead under review; of a file it is chosen as an import would.
  const index = asked === undefined && loaded.reviewed ? ecgLeadOf(recording) : await chooseLead(loaded, asked, found);
  const leads = asked === undefined ? leadsWith(index, recording.leads) : [index];
  const { second, suspected } = await analysed(loaded, leads, detected);
  const segment = textFlag(given, 'segment') ?? null;
  const segments = segmentsOf(loaded, segment);
  try {
    const plan = planSample({
      segment,
      seed,
      stretchSeconds: numberFlag(given, 'stretch-s', 0, true) ?? 5,
      contextSeconds: 2,
      halfWidth: null,
      segments,
      samplingRateHz: recording.samplingRateHz,
      detected,
      second,
      suspected,
    });
    return layOut(plan, segments, recording.samplingRateHz);
  } catch (error) {
    if (error instanceof RangeError) throw new UsageError(error.message);
    throw error;
  }
}

function marksOf(loaded: LoadedRecording, given: Given, found: FindingsLog): Marks {
  const path = textFlag(given, 'marks');
  if (path !== undefined) {
    found.addFile(path, 'list of marks');
    return readMarkList(path, text => found.add({ doubts: [text] }));
  }
  if (!loaded.marks) throw new UsageError(`${loaded.recording.source} carries no marks: give --marks`);
  return loaded.marks;
}

function segmentsOf({ recording, segments }: LoadedRecording, name: string | null): readonly Segment[] {
  const all = segments.length > 0 ? segments : [wholeSegment(recording)];
  if (name === null) return all;
  const named = all.filter(s => s.name === name);
  if (named.length === 0) throw new UsageError(`no segment ${name}; there are ${all.map(s => s.name).join(', ')}`);
  return named;
}

/**
 * What the review queue goes by, in samples of the recording: a second detector on all the leads, and everything
 * suspicious, by the features of all.
 */
async function analysed(loaded: LoadedRecording, leads: readonly number[], detected: Marks) {
  const { recording } = loaded;
  const first = leads[0]!;
  const lead = recording.leads[first]!;
  if (lead.samplingRateHz !== recording.samplingRateHz) {
    throw new UsageError(`lead ${lead.name} has a rate of its own: choose one at ${recording.samplingRateHz} Hz`);
  }
  const gaps = recording.gaps.map(g => span(g.start, g.end));
  const second = await detectLeads(loaded, leads);
  const suspected = suspicions({
    features: await featuresOf(loaded, leads),
    marks: detected,
    second: second.samples,
    secondChance: second.probability,
    secondUnsure: second.unsure,
    gaps,
    unreadable: [],
  });
  return { second: second.samples, suspected };
}

async function featuresOf(loaded: LoadedRecording, indices: readonly number[]) {
  const leads = indices.map(i => loaded.recording.leads[i]!);
  const [lead] = leads;
  const extractor = createFeatureExtractor(lead!.samplingRateHz, wordCount(lead!), leads.length);
  const zeros = leads.map(zeroWord);
  const sources = indices.map(i => loaded.leads[i]!);
  await pushLeads(lead!, sources, {
    push: (...words) => extractor.push(...words),
    skip: count => extractor.skip(count, ...zeros),
  });
  return extractor.finish();
}

function planJson({ plan, stretches, order }: LaidOutPlan, { recording }: LoadedRecording) {
  const { segment, seed, stretchSeconds, shares, weights, classes, bounds } = plan;
  return {
    recording: recording.id,
    segment,
    seed,
    samplingRateHz: recording.samplingRateHz,
    stretchSeconds,
    shares,
    weights,
    stretches: stretches.map(({ start, end }, i) => ({ start, end, class: classes[i], u: bounds[i] })),
    order: [...order],
  };
}

function planCsv({ plan, stretches, order }: LaidOutPlan): string {
  const { classes, bounds, weights } = plan;
  const lines = [...order].map((i, draw) => {
    const { start, end } = stretches[i]!;
    return [draw + 1, start, end, classes[i], weights[classes[i]!], bounds[i]].join();
  });
  return ['draw,start,end,class,weight,bound', ...lines].join('\n');
}
