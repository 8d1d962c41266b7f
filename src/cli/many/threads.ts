import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';
import type { CliCommand, Given } from '../command';
import { type Outcome, runOne } from './one';
import type { Task } from './tasks';

/** The next task with where to say how it went. Null when there is none left. */
export type Take = () => { readonly task: Task; done(outcome: Outcome): void } | null;

interface ThreadData {
  readonly beatLedgerCommand: string;
  readonly given: Given;
}

/** Works the tasks off in threads that run `program`; a thread that dies fails its task and is started anew. */
export async function overThreads(
  program: URL,
  command: string,
  given: Given,
  threads: number,
  take: Take,
): Promise<void> {
  const workerData: ThreadData = { beatLedgerCommand: command, given: { files: [], flags: { ...given.flags } } };
  const start = () => new Worker(program, { workerData });
  await Promise.all(Array.from({ length: threads }, () => workOff(start, take)));
}

async function workOff(start: () => Worker, take: Take): Promise<void> {
  let worker: Worker | null = null;
  for (let next = take(); next; next = take()) {
    worker ??= start();
    const { outcome, alive } = await answer(worker, next.task);
    next.done(outcome);
    if (!alive) worker = null;
  }
  await worker?.terminate();
}

/** What a thread says of a task, or that it died of it. */
function answer(worker: Worker, task: Task): Promise<{ outcome: Outcome; alive: boolean }> {
  return new Promise(resolve => {
    const settle = (outcome: Outcome, alive: boolean) => {
      for (const event of ['message', 'error', 'exit']) worker.removeAllListeners(event);
      resolve({ outcome, alive });
    };
    const died = (problem: string) => settle({ problem, doubts: [] }, false);
    worker.once('message', (outcome: Outcome) => settle(outcome, true));
    worker.once('error', error => died(error.message));
    worker.once('exit', code => died(`its thread ended with code ${code}`));
    worker.postMessage(task);
  });
}

/** Name of the command that this thread is there for; null in the program itself. */
export function threadCommand(): string | null {
  return isMainThread ? null : ((workerData as ThreadData | null)?.beatLedgerCommand ?? null);
}

/** Answers tasks until the thread is ended. It listens from the start, before its first wait. */
export function serveTasks(load: () => Promise<CliCommand>): void {
  const { given } = workerData as ThreadData;
  const command = load();
  parentPort!.on('message', async (task: Task) => {
    parentPort!.postMessage(await runOne(await command, given, task));
  });
}
