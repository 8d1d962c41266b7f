import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { defaultMatchSettings } from '../../../src/core/marks/match';
import { span } from '../../../src/core/units';
import { writeStudy } from '../../../src/formats/bundle/study';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { madeSession } from '../formats/bundle/reviewed';
import { cli, scratch } from './run';

const files = scratch();
afterAll(files.remove);

/** A session whose only log has an entry that was changed. */
function damagedBundle(): string {
  const { reviewed, leads } = madeSession(['R1']);
  const [log] = reviewed.logs;
  const entries = log!.entries.map((entry, i) => (i === 1 ? { ...entry, hash: '0'.repeat(64) } : entry));
  return files.write('damaged.zip', writeBundle({ ...reviewed, logs: [{ ...log!, entries }] }, leads, { level: 0 }));
}

test('a bundle whose only log is damaged is refused by score', async () => {
  const damaged = await cli('score', damagedBundle());
  expect(damaged).toMatchObject({ code: 2, out: '' });
  expect(damaged.err).toContain('the log of R1 is damaged and the bundle has no other: there is nothing to score');
});

test('a report says that a log is damaged, also where ids and dates are left out', async () => {
  const path = damagedBundle();
  const report = async (out: string, ...flags: string[]) => {
    const ran = await cli('report', path, '--out', files.path(out), '--draws', '100', ...flags);
    const json = JSON.parse(readFileSync(join(files.path(out), 'report.json'), 'utf8'));
    return {
      ...ran,
      cautions: json.cautions as string[],
      text: readFileSync(join(files.path(out), 'report.html'), 'utf8'),
    };
  };
  const plain = await report('plain');
  expect(plain.cautions).toContain(
    'Damaged, and not counted: 1 log of V01 (V01-training-day). Get the bundle again from who wrote it.',
  );
  expect(plain.text).toContain('no finished review; a log is damaged');
  expect(plain.err).toContain('V01-training-day has no finished review that is intact and is not counted');
  const bare = await report('bare', '--leave-out', 'all');
  expect(bare.cautions.join('\n')).toMatch(/Damaged, and not counted: 1 log of /);
  expect(bare.cautions.join('\n')).not.toContain('training-day');
});

/** A session two of whose segments overlap. */
function overlappingBundle(): Uint8Array {
  const { reviewed, leads } = madeSession(['R1']);
  const [first, ...rest] = reviewed.session.recordings;
  const segments = [
    { name: 'rest', ...span(0, 2000) },
    { name: 'uphill walk', ...span(1000, 3000) },
  ];
  const session = { ...reviewed.session, recordings: [{ ...first!, segments }, ...rest] };
  return writeBundle({ session, logs: [] }, leads, { level: 0 });
}

test('segments of a bundle that overlap are named by check and score, and --strict refuses them', async () => {
  const path = files.write('overlap.zip', overlappingBundle());
  const words = 'segments rest and uphill walk overlap: the total counts that part twice';
  const checked = await cli('check', path);
  expect(checked.err).toContain(words);
  expect(JSON.parse((await cli('check', path, '--json')).out).doubts).toEqual([expect.stringContaining(words)]);
  expect(await cli('check', path, '--strict')).toMatchObject({ code: 2 });
  expect((await cli('score', path)).err).toContain(words);
});

test('what is doubtful in a session of a study is named by check with the session, and --strict refuses it', async () => {
  const { id, title } = madeSession([]).reviewed.session;
  const plan = {
    id: 'one',
    title,
    sessions: [id],
    settings: defaultMatchSettings,
    namingPattern: '',
    segmentTemplate: [],
    protocol: '',
  };
  const path = files.write('overlap-study.zip', await writeStudy(plan, overlappingBundle));
  const words = /V01-training-day: .*segments rest and uphill walk overlap: the total counts that part twice/;
  const checked = await cli('check', path);
  expect(checked).toMatchObject({ code: 0, out: 'Sound: a study, and every session in it.\n' });
  expect(checked.err).toMatch(words);
  const json = JSON.parse((await cli('check', path, '--json')).out);
  expect(json).toMatchObject({ sound: true, problems: [], doubts: [expect.stringMatching(words)] });
  expect(await cli('check', path, '--strict')).toMatchObject({ code: 2, out: '' });
});
