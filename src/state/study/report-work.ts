import { openAnalysis } from '../../workers/analysis';

/**
 * The worker in which boards and reports are made. It stays between them: what the last one was read and made from is kept
 * there, and the next works out only what has changed. After a while without work it is ended, and its memory freed.
 */
const analysis = openAnalysis();
const idleMs = 10 * 60_000;
let underWay = 0;
let idle: ReturnType<typeof setTimeout> | undefined;

type Start = typeof analysis.start;

/** As in `WorkerClient`. */
export const startReportWork: Start = (job, input, onProgress) => {
  clearTimeout(idle);
  underWay++;
  const running = analysis.start(job, input, onProgress);
  const over = () => {
    if (--underWay === 0) idle = setTimeout(endReportWork, idleMs);
  };
  running.done.then(over, over);
  return running;
};

/** Ends the worker at once: all that is under way rejects with a Cancelled. The next job starts another. */
export function endReportWork(): void {
  analysis.close();
}
