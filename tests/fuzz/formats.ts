import { fuzz, fuzzTargets } from './readers';

/** `tsx tests/fuzz/formats.ts --inputs 100000 [--seed 1] [--only EDF+C]`: mutated files per format, as a table. */
async function main(args: readonly string[]): Promise<void> {
  const option = (name: string, otherwise: string) => args[args.indexOf(`--${name}`) + 1 || args.length] ?? otherwise;
  const inputs = Number(option('inputs', '100000'));
  const seed = Number(option('seed', '1'));
  const only = option('only', '');
  console.log('| format | inputs | values | FormatErrors | anything else | longest ms | largest memory MB |');
  console.log('| --- | ---: | ---: | ---: | ---: | ---: | ---: |');
  let failed = 0;
  for (const target of await fuzzTargets()) {
    if (only !== '' && target.name !== only) continue;
    const r = await fuzz(target, inputs, seed);
    const other = r.inputs - r.values - r.formatErrors;
    failed += other;
    const cells = [
      r.name,
      r.inputs,
      r.values,
      r.formatErrors,
      other,
      r.longestMs.toFixed(1),
      r.largestMemoryMb.toFixed(0),
    ];
    console.log(`| ${cells.join(' | ')} |`);
    for (const f of r.failures) console.error(f);
  }
  if (failed > 0) process.exitCode = 1;
}

void main(process.argv.slice(2));
