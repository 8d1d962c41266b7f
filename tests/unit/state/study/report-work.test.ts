import { beforeEach, expect, test, vi } from 'vitest';
import { endReportWork, startReportWork } from '../../../../src/state/study/report-work';
import { Cancelled } from '../../../../src/workers/outcome';
import type { ReportRequest } from '../../../../src/workers/report-jobs';

interface Job {
  readonly name: string;
  readonly resolve: (answer: unknown) => void;
  readonly reject: (why: Error) => void;
}

/** Every job that was started, and those under way in the worker. */
const worker = vi.hoisted(() => ({ started: [] as Job[], underWay: [] as Job[], ends: 0 }));

vi.mock('../../../../src/workers/analysis', () => ({
  openAnalysis: () => ({
    start(name: string) {
      let job: Job | undefined;
      const done = new Promise<unknown>((resolve, reject) => {
        job = { name, resolve, reject };
      });
      worker.started.push(job!);
      worker.underWay.push(job!);
      return { done, cancel: () => job!.reject(new Cancelled()) };
    },
    close() {
      worker.ends++;
      for (const job of worker.underWay.splice(0)) job.reject(new Cancelled());
    },
  }),
}));

const request = {} as ReportRequest;
const names = () => worker.started.map(j => j.name);

beforeEach(() => {
  worker.started.length = 0;
  worker.underWay.length = 0;
  worker.ends = 0;
});

test('work under way beside a report that is cancelled begins again, and only the report is cancelled', async () => {
  const files = startReportWork('reportPackage', request);
  const board = startReportWork('board', { sessionIds: [] });
  const report = startReportWork('report', request);
  endReportWork(report);
  await expect(report.done).rejects.toThrow(Cancelled);
  expect(names()).toEqual(['reportPackage', 'board', 'report', 'reportPackage', 'board']);
  worker.started[3]!.resolve(['file']);
  worker.started[4]!.resolve([]);
  expect(await files.done).toEqual(['file']);
  expect(await board.done).toEqual([]);
});

test('work cancelled by itself stays cancelled, and what fails fails', async () => {
  const board = startReportWork('board', { sessionIds: [] });
  board.cancel();
  await expect(board.done).rejects.toThrow(Cancelled);
  const report = startReportWork('report', request);
  worker.started[1]!.reject(new Error('no room'));
  await expect(report.done).rejects.toThrow('no room');
  expect(names()).toEqual(['board', 'report']);
  expect(worker.ends).toBe(0);
});

test('the worker is ended some minutes after the last work, not during the next', async () => {
  vi.useFakeTimers();
  const first = startReportWork('board', { sessionIds: [] });
  worker.started[0]!.resolve([]);
  await first.done;
  await vi.advanceTimersByTimeAsync(9 * 60_000);
  const second = startReportWork('report', request);
  await vi.advanceTimersByTimeAsync(20 * 60_000);
  expect(worker.ends).toBe(0);
  worker.started[1]!.reject(new Error('no room'));
  await expect(second.done).rejects.toThrow('no room');
  await vi.advanceTimersByTimeAsync(11 * 60_000);
  expect(worker.ends).toBe(1);
  vi.useRealTimers();
});
