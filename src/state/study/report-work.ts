import { openAnalysis } from '../../workers/analysis';
import { Cancelled } from '../../workers/outcome';

/**
 * The worker in which boards and reports are made. It stays between them: what the last one was read and made from is kept
 * there, and the next works out only what has changed. After a while without work it is ended, and its memory freed.
 */
const analysis = openAnalysis();
const idleMs = 10 * 60_000;
let underWay = 0;
let idle: ReturnType<typeof setTimeout> | undefined;

type Start = typeof analysis.start;

/** As in `WorkerClient`; work that the worker was ended under for another's sake begins again. */
export const startReportWork: Start = (job, input, onProgress) => {
  clearTimeout(idle);
  underWay++;
  let wanted = true;
  let running = analysis.start(job, input, onProgress);
  const done = async () => {
    for (;;)
      try {
        return await running.done;
      } catch (error) {
        if (!wanted || !(error instanceof Cancelled)) throw error;
        running = analysis.start(job, input, onProgress);
      }
  };
  const over = () => {
    if (--underWay === 0) idle = setTimeout(() => analysis.close(), idleMs);
  };
  const cancel = () => {
    wanted = false;
    running.cancel();
  };
  return { done: done().finally(over), cancel };
};

/**
 * Cancels work that computes without a pause in which the worker could hear of it: the worker is ended, and the next job
 * starts another.
 */
export function endReportWork({ cancel }: Pick<ReturnType<Start>, 'cancel'>): void {
  cancel();
  analysis.close();
}
