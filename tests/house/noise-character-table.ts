import { burstBandsHz, type Character, octavesFromHz } from '../bench/noise-character';
import type { SampleNoise } from '../bench/sample-noise';

type Row = readonly [name: string, of: (c: Character) => string];

/**
 * Electrode-motion noise measured, simulated, and in the sample sessions side by side, from
 * `tests/bench/noise-character.json` and `tests/bench/sample-noise.json`.
 */
export function noiseCharacterTable(text: string, samplesText: string): string {
  const { measured, simulated }: Record<'measured' | 'simulated', Character> = JSON.parse(text);
  const samples: SampleNoise = JSON.parse(samplesText);
  const columns = [measured, simulated, samples.character['chest band'], samples.character['adhesive logger']];
  const rows: Row[] = [
    ...octavesFromHz.map((hz, k): Row => [`${hz} to ${2 * hz} Hz, power, dB of all`, c => signed(c.octavesDb[k])]),
    ...octavesFromHz
      .slice(-measured.kurtosis.length)
      .map(
        (hz, k): Row => [`${hz} to ${2 * hz} Hz, kurtosis (normal noise 3)`, c => c.kurtosis[k]?.toFixed(1) ?? none],
      ),
    ...burstBandsHz.flatMap(([from, to], k) => burstRows(`${from} to ${to} Hz`, c => c.bursts[k]!)),
  ];
  return table(
    ['', 'measured', 'simulated', 'sample sessions, chest band', 'adhesive logger'],
    rows.map(([name, of]) => [name, ...columns.map(of)]),
  );
}

/** How loud the noise of the sample sessions is in each activity, from `tests/bench/sample-noise.json`. */
export function sampleRatioTable(text: string): string {
  const { ratios }: SampleNoise = JSON.parse(text);
  return table(
    ['activity', 'recorder', 'motion all through, dB', 'all noise, dB', 'least', 'most'],
    ratios.map(r => [r.activity, r.recorder, String(r.motionDb), ...r.allDb.map(v => v.toFixed(1))]),
  );
}

const none = '–';

function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]) => `| ${cells.join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
}

const signed = (v: number | undefined) => v?.toFixed(1).replace('-', '−') ?? none;

function burstRows(band: string, of: (c: Character) => Character['bursts'][number]): Row[] {
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
