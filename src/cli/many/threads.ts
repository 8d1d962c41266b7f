import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';
import type { CliCommand, Given } from '../command';
import { runOne } from './one';
import type { Task } from './tasks';

/** The next task with where to say how it went: null, or what went wrong. Null when there is none left. */
export type Take = () => { readonly task: Task; done(problem: string | null): void } | null;

/** An object, as a message of null alone is not delivered. */
interface Answer {
  readonly problem: string | null;
}

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
    const { problem, alive } = await answer(worker, next.task);
    next.done(problem);
    if (!alive) worker = null;
  }
  await worker?.terminate();
}

/** What a thread says of a task, or that it died of it. */
function answer(worker: Worker, task: Task): Promise<{ problem: string | null; alive: boolean }> {
  return new Promise(resolve => {
    const settle = (problem: string | null, alive: boolean) => {
      for (const event of ['message', 'error', 'exit']) worker.removeAllListeners(event);
      resolve({ problem, alive });
    };
    worker.once('message', ({ problem }: Answer) => settle(problem, true));
    worker.once('error', error => settle(error.message, false));
    worker.once('exit', code => settle(`its thread ended with code ${code}`, false));
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
    const answer: Answer = { problem: await runOne(await command, given, task) };
    parentPort!.postMessage(answer);
  });
}
