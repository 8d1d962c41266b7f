import { differential, type Verdict } from './dialects';
import { randomFrom } from './mutate';

/** `tsx tests/fuzz/values.ts --inputs 100000 [--seed 1]`: tables with known values in every dialect, read and compared. */
async function main(args: readonly string[]): Promise<void> {
  const option = (name: string, otherwise: string) => args[args.indexOf(`--${name}`) + 1 || args.length] ?? otherwise;
  const inputs = Number(option('inputs', '100000'));
  const random = randomFrom(Number(option('seed', '1')));
  const counts: Record<Verdict, number> = { 'the same': 0, asked: 0, refused: 0, 'silently different': 0 };
  for (let i = 0; i < inputs; i++) {
    const { verdict, dialect, text } = await differential(random);
    counts[verdict]++;
    const shown = verdict === 'silently different' || option('show', '') === verdict;
    if (shown && counts[verdict] <= 5) console.error(`${i}: ${verdict}\n${dialect}\n${text}\n`);
  }
  console.log('| tables | the same | asked about | refused | silently different |');
  console.log('| ---: | ---: | ---: | ---: | ---: |');
  console.log(`| ${inputs} | ${Object.values(counts).join(' | ')} |`);
  if (counts['silently different'] > 0) process.exitCode = 1;
}

void main(process.argv.slice(2));
