import { differential, type Verdict } from './dialects';
import { edfDifferential } from './edf-values';
import { randomFrom } from './mutate';

/**
 * `tsx tests/fuzz/values.ts --inputs 100000 [--seed 1] [--of text|EDF]`: tables with known values in every dialect, and EDF and
 * BDF files in every shape, read and compared.
 */
async function main(args: readonly string[]): Promise<void> {
  const option = (name: string, otherwise: string) => args[args.indexOf(`--${name}`) + 1 || args.length] ?? otherwise;
  const inputs = Number(option('inputs', '100000'));
  console.log('| reader | inputs | the same | asked about | refused | silently different |');
  console.log('| --- | ---: | ---: | ---: | ---: | ---: |');
  for (const [name, once] of Object.entries(readers)) {
    if (option('of', name) !== name) continue;
    const random = randomFrom(Number(option('seed', '1')));
    const counts: Record<Verdict, number> = { 'the same': 0, asked: 0, refused: 0, 'silently different': 0 };
    for (let i = 0; i < inputs; i++) {
      const { verdict, words } = await once(random);
      counts[verdict]++;
      const shown = verdict === 'silently different' || option('show', '') === verdict;
      if (shown && counts[verdict] <= 5) console.error(`${i}: ${verdict}\n${words}\n`);
    }
    console.log(`| ${name} | ${inputs} | ${Object.values(counts).join(' | ')} |`);
    if (counts['silently different'] > 0) process.exitCode = 1;
  }
}

type Once = (random: () => number) => Promise<{ verdict: Verdict; words: string }>;

const readers: Readonly<Record<string, Once>> = {
  async text(random) {
    const { verdict, dialect, text } = await differential(random);
    return { verdict, words: `${dialect}\n${text}` };
  },
  async EDF(random) {
    const { verdict, made, why } = await edfDifferential(random);
    return { verdict, words: `${why}\n${made.shape}` };
  },
};

void main(process.argv.slice(2));
