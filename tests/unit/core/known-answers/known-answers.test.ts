import { describe, expect, test } from 'vitest';
import { chainAnswers, chainExample, sha256OfAbc } from '../../../../src/core/known-answers/chain-example';
import { coreAnswers } from '../../../../src/core/known-answers/core-answers';
import {
  agreementSentence,
  checkAnswers,
  findingsText,
  type KnownAnswer,
} from '../../../../src/core/known-answers/known-answer';
import { workedExamples } from '../../../../src/core/known-answers/worked-examples';
import { selfCheck } from '../../../../src/formats/self-check';
import reference from '../../../reference/chain/chain.json';
import { cli } from '../../cli/run';

describe('the examples with known answers', () => {
  test('all agree here, every worked example among them', async () => {
    const findings = await selfCheck();
    expect(findings.filter(f => !f.agrees)).toEqual([]);
    expect(findings.filter(f => f.topic === 'Quality').map(f => f.example)).toEqual(workedExamples.map(e => e.title));
    expect(new Set(findings.map(f => f.topic)).size).toBeGreaterThanOrEqual(9);
    expect(findings.at(-1)).toMatchObject({ topic: 'Bundle', found: expect.stringContaining('turned bit refused') });
    expect(agreementSentence(findings)).toBe(`All ${findings.length} examples agree.`);
  });

  test('each expects something and says where it comes from', () => {
    expect(coreAnswers.filter(a => Object.keys(a.expected).length === 0 || a.source.length < 8)).toEqual([]);
  });

  test.each(coreAnswers.map(a => [`${a.topic}: ${a.example}`, a] as const))(
    '%s: any other expectation is shown as not agreeing',
    async (_name, answer) => {
      for (const [name, value] of Object.entries(answer.expected)) {
        const wrong = typeof value === 'number' ? value + 2 * answer.within + 0.01 : `${value}x`;
        const [finding] = await checkAnswers([{ ...answer, expected: { ...answer.expected, [name]: wrong } }]);
        expect(finding!.agrees, name).toBe(false);
      }
    },
  );
});

describe('a finding', () => {
  const answer: KnownAnswer = {
    topic: 'T',
    example: 'e',
    source: 's',
    expected: { a: 0.3, b: 'x', c: null },
    within: 0.01,
    find: () => ({ a: 0.308, b: 'x', c: null }),
  };

  test('agrees up to what is allowed, and shows words for nothing', async () => {
    expect(await checkAnswers([answer])).toEqual([
      {
        topic: 'T',
        example: 'e',
        source: 's',
        expected: 'a 0.3, b x, c none',
        found: 'a 0.308, b x, c none',
        agrees: true,
      },
    ]);
  });

  test.each([
    ['a number too far', { a: 0.3101, b: 'x', c: null }],
    ['another word', { a: 0.3, b: 'y', c: null }],
    ['nothing where a number is due', { a: null, b: 'x', c: null }],
    ['a number where nothing is due', { a: 0.3, b: 'x', c: 0 }],
    ['a reading left out', { a: 0.3, b: 'x' }],
    ['not a number', { a: Number.NaN, b: 'x', c: null }],
  ])('does not agree: %s', async (_what, found) => {
    const findings = await checkAnswers([answer, { ...answer, find: () => found }]);
    expect(findings.map(f => f.agrees)).toEqual([true, false]);
    expect(agreementSentence(findings)).toMatch(/^1 of 2 examples do not agree/);
  });

  test('shows a small difference in full', async () => {
    const exact = { ...answer, expected: { a: 1 }, within: 0, find: () => ({ a: 1 + 2 ** -40 }) };
    const [finding] = await checkAnswers([exact]);
    expect(finding).toMatchObject({ expected: 'a 1', found: 'a 1.0000000000009095', agrees: false });
  });

  test('of an example that fails says why', async () => {
    const fails = () => {
      throw new RangeError('no table');
    };
    const findings = await checkAnswers([{ ...answer, find: fails }, answer]);
    expect(findings[0]).toMatchObject({ found: 'failed: no table', agrees: false });
    expect(findingsText(findings, ['this page']).split('\n')).toEqual([
      'this page',
      '1 of 2 examples do not agree: do not use numbers computed here.',
      '',
      'topic\texample\texpected\tfound\tagrees\tsource',
      'T\te\ta 0.3, b x, c none\tfailed: no table\tNO\ts',
      'T\te\ta 0.3, b x, c none\ta 0.308, b x, c none\tyes\ts',
    ]);
  });
});

// source: hashlib and json of Python 3 (tests/reference/chain)
test('the chain example has the hashes other software computes', () => {
  expect(chainExample().entries.map(e => e.hash)).toEqual(reference.hashes);
  expect([chainAnswers.first, chainAnswers.last]).toEqual([reference.hashes[0], reference.hashes.at(-1)]);
  expect(sha256OfAbc).toBe(reference.sha256OfAbc);
});

test('the command line makes the same check', async () => {
  const findings = await selfCheck();
  const json = await cli('self-check', '--json');
  expect(json).toMatchObject({ code: 0, err: '' });
  expect(JSON.parse(json.out)).toMatchObject({ findings, summary: agreementSentence(findings) });
  const text = await cli('self-check');
  expect(text.out).toContain(findingsText(findings, []).trim());
});
