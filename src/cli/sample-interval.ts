import * as z from 'zod/mini';
import { SampledQuality, type SampledShare } from '../core/sample/sampled-quality';
import { type CliCommand, UsageError } from './command';
import { readJson } from './files';

const input = z.strictObject({
  alpha: z.optional(z.number()),
  /** Not needed for the interval, as what follows; both stand in what the command sample prints. */
  seed: z.optional(z.int()),
  provenance: z.optional(z.unknown()),
  stretches: z.array(z.strictObject({ u: z.number(), g: z.number(), class: z.optional(z.int()) })),
  steps: z.array(
    z.strictObject({
      i: z.int(),
      e: z.optional(z.number()),
      m: z.optional(z.number()),
      known: z.optional(z.boolean()),
      skipped: z.optional(z.boolean()),
    }),
  ),
});

export const sampleIntervalCommand: CliCommand = {
  name: 'sample-interval',
  summary: 'estimate and interval of a sampled review from plain numbers, for checking',
  usage: ['sample-interval FILE.json [--json]'],
  flags: { json: { about: '{"estimate","interval":[low,high],"drawn","known","skipped","rest"}, shares of 1' } },
  examples: ['sample-interval steps.json --json'],
  details: [
    'FILE is {"alpha":0.05,"stretches":[{"u":8,"g":1},...],"steps":[{"i":0,"e":0,"m":6},{"i":7,"e":1,"m":6,"known":true},...]}:',
    'bound u and weight g of each stretch in order of time, then the stretches i in the order of review, with e wrong and',
    'lost of m judged and lost intervals; "known" when it was not drawn; {"i":3,"skipped":true} when it was drawn and left.',
    'Classes are the distinct g, or "class" of the stretches where two classes have the same g.',
  ].join('\n'),
  run({ files, flags }, output) {
    if (files.length !== 1) throw new UsageError('sample-interval takes one file');
    const share = sampledShare(files[0]!);
    const { estimate, interval, drawn, known, skipped, rest, boundFactor } = share;
    if (flags['json']) {
      const raised = boundFactor === 1 ? {} : { boundFactor };
      output.print(JSON.stringify({ estimate, interval, drawn, known, skipped, rest, ...raised }));
    } else output.print(sentence(share));
    return 0;
  },
};

function sampledShare(path: string): SampledShare {
  const { alpha, stretches, steps } = parsed(path);
  const ids = stretches.map(s => s.class ?? `weight ${s.g}`);
  const classes = [...new Set(ids)];
  const weights = classes.map(id => stretches[ids.indexOf(id)]!.g);
  const differs = stretches.findIndex((s, i) => s.g !== weights[classes.indexOf(ids[i]!)]);
  if (differs >= 0) throw new UsageError(`${path}: stretches of class ${ids[differs]} have different weights`);
  const groups = stretches.map((s, i) => ({ bound: s.u, group: classes.indexOf(ids[i]!) }));
  try {
    const quality = new SampledQuality({ stretches: groups, weights }, alpha);
    for (const { i, e = 0, m = 0, known, skipped } of steps) {
      quality.add({ stretch: i, kind: known ? 'known' : skipped ? 'skipped' : 'drawn', errors: e, intervals: m });
    }
    return quality.share();
  } catch (error) {
    if (error instanceof RangeError) throw new UsageError(`${path}: ${error.message}`);
    throw error;
  }
}

function parsed(path: string): z.infer<typeof input> {
  const result = z.safeParse(input, readJson(path));
  if (result.success) return result.data;
  const issue = result.error.issues[0]!;
  throw new UsageError(`${path}: ${issue.path.join('.') || 'the file'}: ${issue.message}`);
}

function sentence({ estimate, interval, drawn, known, skipped, rest }: SampledShare): string {
  const percent = (share: number) => (100 * share).toFixed(3);
  const value = estimate === null ? 'no estimate' : `quality ${percent(estimate)} %`;
  const counts = `${drawn} drawn, ${known} known, ${skipped} skipped, ${rest} left`;
  return `${value}, 95 % interval ${percent(interval[0])} to ${percent(interval[1])} % (${counts})`;
}
