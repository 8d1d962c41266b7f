import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { expect, test } from 'vitest';
import { BoardTable } from '../../../../src/views/lab-store/board-table';
import { boardLine } from './line';

const progressOf = (lookedAtShare: number) => ({
  lookedAtShare,
  sampled: null,
  marksLeft: 0,
  minutes: 1,
  signedOffSegments: 0,
  segments: 1,
  entries: 1,
  recordedSeconds: 60,
  lastAt: null,
});

function lookedAt(share: number): string | undefined {
  const props = {
    lines: [boardLine({ progress: progressOf(share) })],
    today: '2026-02-21',
    hidden: new Set<string>(),
    choose: null,
  };
  return /data-cell="looked">([^<]*)</.exec(renderToStaticMarkup(createElement(BoardTable, props)))?.[1];
}

// source: percentages as of the ledger, where 0.29 times 100 is a little less than 29
test('the share looked at is said as in the ledger', () => {
  expect([0, 0.004, 0.29, 0.9999, 1].map(lookedAt)).toEqual(['0 %', 'under 1 %', '29 %', '99 %', '100 %']);
});
