import { burstBandsHz, type Character, octavesFromHz } from '../bench/noise-character';

/** Measured and simulated electrode-motion noise side by side, from `tests/bench/noise-character.json`. */
export function noiseCharacterTable(text: string): string {
  const { measured, simulated }: Record<'measured' | 'simulated', Character> = JSON.parse(text);
  const rows: [string, (c: Character) => string][] = [
    ...octavesFromHz.map((hz, k): [string, (c: Character) => string] => [
      `${hz} to ${2 * hz} Hz, power, dB of all`,
      c => signed(c.octavesDb[k]!),
    ]),
    ...octavesFromHz
      .slice(-measured.kurtosis.length)
      .map((hz, k): [string, (c: Character) => string] => [
        `${hz} to ${2 * hz} Hz, kurtosis (normal noise 3)`,
        c => c.kurtosis[k]!.toFixed(1),
      ]),
    ...burstBandsHz.flatMap(([from, to], k) => burstRows(`${from} to ${to} Hz`, c => c.bursts[k]!)),
  ];
  const line = (cells: readonly string[]) => `| ${cells.join(' | ')} |`;
  return [
    line(['', 'measured', 'simulated']),
    line(['---', '---', '---']),
    ...rows.map(([name, of]) => line([name, of(measured), of(simulated)])),
  ].join('\n');
}

const signed = (v: number) => v.toFixed(1).replace('-', '−');

function burstRows(
  band: string,
  of: (c: Character) => Character['bursts'][number],
): [string, (c: Character) => string][] {
  const both = (values: readonly number[]) => values.map(v => v.toFixed(1)).join(' / ');
  return [
    [`${band}, standard deviation of the log of the amplitude`, c => of(c).spread.toFixed(2)],
    [
      `${band}, autocorrelation of that after 0.5 / 1 s`,
      c => [of(c).halfSecond, of(c).second].map(v => v.toFixed(2).replace('-', '−')).join(' / '),
    ],
    [`${band}, bursts a minute`, c => of(c).perMinute.toFixed(0)],
    [`${band}, length of a burst, s, median / 90 %`, c => both(of(c).lengthS)],
    [`${band}, gap between bursts, s, median / 90 %`, c => both(of(c).gapS)],
  ];
}
