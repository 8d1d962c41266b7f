import { afterAll, describe, expect, test } from 'vitest';
import { layOut } from '../../../src/core/sample/plan';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { madeSession } from '../formats/bundle/reviewed';
import { cli, scratch } from './run';

const files = scratch();
afterAll(files.remove);

async function run(...args: string[]) {
  const ran = await cli(...args);
  expect(ran, ran.err).toMatchObject({ code: 0 });
  return ran;
}

describe('sample-interval', () => {
  const stretches = Array.from({ length: 200 }, (_, i) => ({ u: 8, g: i < 10 ? 4 : 1 }));
  const steps = [
    ...Array.from({ length: 10 }, (_, i) => ({ i, e: 3, m: 6, known: true })),
    ...Array.from({ length: 40 }, (_, i) => ({ i: 10 + i, e: i === 9 ? 1 : 0, m: 6 })),
  ];

  test('gives the published check value', async () => {
    // Published with the design of the method: ten known stretches, then 40 drawn ones.
    const file = files.write('c.json', JSON.stringify({ alpha: 0.05, stretches, steps }));
    const share = JSON.parse((await run('sample-interval', file, '--json')).out);
    expect(share).toMatchObject({ drawn: 40, known: 10, skipped: 0, rest: 150 });
    expect(share.estimate).toBeCloseTo(0.971042, 6);
    expect(share.interval[0]).toBeCloseTo(0.872649, 5);
    expect(share.interval[1]).toBeCloseTo(0.978295, 5);
    expect((await run('sample-interval', file)).out).toBe(
      'quality 97.104 %, 95 % interval 87.265 to 97.829 % (40 drawn, 10 known, 0 skipped, 150 left)\n',
    );
  });

  test('names classes of one weight apart, widens for a skipped stretch, and tells a raised bound', async () => {
    const two = [
      { u: 8, g: 1, class: 0 },
      { u: 8, g: 1, class: 1 },
      { u: 8, g: 1, class: 1 },
    ];
    const file = (name: string, steps: object[]) => files.write(name, JSON.stringify({ stretches: two, steps }));
    const share = async (name: string, steps: object[]) =>
      JSON.parse((await run('sample-interval', file(name, steps), '--json')).out);
    // Class 0 is done: the rest takes the mean of class 1, 1 - (0 + 1 + 1) / (6 + 6 + 6).
    const half = await share('a.json', [
      { i: 0, e: 0, m: 6 },
      { i: 1, e: 1, m: 6 },
    ]);
    expect(half.estimate).toBeCloseTo(16 / 18, 12);
    const left = await share('b.json', [
      { i: 0, e: 0, m: 6 },
      { i: 1, skipped: true },
      { i: 2, e: 0, m: 6 },
    ]);
    // At worst all of the 8 intervals the skipped one may hold are wrong, at best none.
    expect(left.interval).toEqual([0.6, 1]);
    expect(left).toMatchObject({ estimate: 1, skipped: 1, rest: 0 });
    expect((await share('c.json', [{ i: 0, e: 0, m: 12 }])).boundFactor).toBe(1.5);
  });

  test('before the first draw has no estimate', async () => {
    const file = files.write('none.json', JSON.stringify({ stretches, steps: [] }));
    expect(JSON.parse((await run('sample-interval', file, '--json')).out)).toMatchObject({
      estimate: null,
      interval: [0, 1],
    });
  });

  test('refuses what cannot be, and names the place', async () => {
    for (const [content, message] of [
      ['{', 'is not JSON'],
      ['{"stretches":[]}', 'steps: '],
      ['{"stretches":[{"u":"8","g":1}],"steps":[]}', 'stretches.0.u: '],
      ['{"stretches":[],"steps":[]}', 'there is no stretch to sample'],
      ['{"stretches":[{"u":8,"g":1}],"steps":[{"i":1}]}', 'there is no stretch 1'],
      ['{"stretches":[{"u":8,"g":1}],"steps":[{"i":0,"e":2,"m":1}]}', 'stretch 0 has 2 errors in 1 intervals'],
      ['{"stretches":[{"u":8,"g":1,"class":0},{"u":8,"g":2,"class":0}],"steps":[]}', 'have different weights'],
      ['{"stretches":[{"u":8,"g":1}],"steps":[],"alpha":2}', 'alpha lies between 0 and 1'],
    ] as const) {
      const ran = await cli('sample-interval', files.write('bad.json', content));
      expect(ran).toMatchObject({ code: 2, out: '' });
      expect(ran.err).toContain(message);
    }
  });
});

describe('sample', () => {
  const made = madeSession(['R1']);
  const bundle = files.write('session.zip', writeBundle(made.reviewed, made.leads));

  test('gives the plan as JSON, whose order follows from the seed', async () => {
    const plan = JSON.parse((await run('sample', bundle, '--seed', '7', '--stretch-s', '2', '--json')).out);
    const again = JSON.parse((await run('sample', bundle, '--seed', '7', '--stretch-s', '2', '--json')).out);
    expect(again).toEqual(plan);
    const other = JSON.parse((await run('sample', bundle, '--seed', '8', '--stretch-s', '2', '--json')).out);
    expect({ ...other, seed: 7, order: plan.order }).toEqual(plan);
    expect(other.order).not.toEqual(plan.order);
    const item = made.reviewed.session.recordings.find(r => r.recording.id === plan.recording)!;
    const laidOut = layOut(
      {
        segment: null,
        seed: 7,
        stretchSeconds: 2,
        contextSeconds: 2,
        shares: plan.shares,
        weights: plan.weights,
        halfWidth: null,
        classes: plan.stretches.map((s: { class: number }) => s.class),
        bounds: plan.stretches.map((s: { u: number }) => s.u),
      },
      item.segments,
      plan.samplingRateHz,
    );
    expect(plan.order).toEqual([...laidOut.order]);
    expect(plan.stretches.map((s: { start: number; end: number }) => [s.start, s.end])).toEqual(
      laidOut.stretches.map(s => [s.start, s.end]),
    );
  });

  test('gives the order as CSV, of one segment too', async () => {
    const { name } = made.reviewed.session.recordings[0]!.segments[0]!;
    const lines = (await run('sample', bundle, '--seed', '7', '--segment', name)).out.trim().split('\n');
    expect(lines[0]).toBe('draw,start,end,class,weight,bound');
    expect(lines[1]).toMatch(/^1,\d+,\d+,[0-4],(4|2|1\.5|1),\d+$/);
  });

  test('refuses what it cannot know', async () => {
    for (const [args, message] of [
      [[bundle], 'sample needs --seed'],
      [[bundle, '--seed', '1.5'], '--seed needs a whole number'],
      [[bundle, '--seed', '1', '--segment', 'swim'], 'no segment swim; there are'],
      [['--seed', '1'], 'sample takes one file'],
    ] as const) {
      const ran = await cli('sample', ...args);
      expect(ran).toMatchObject({ code: 2, out: '' });
      expect(ran.err).toContain(message);
    }
  });
});
