import { mkdirSync, readdirSync, rmSync } from 'node:fs';
import { availableParallelism, constants } from 'node:os';
import { join } from 'node:path';
import { type CliCommand, type Given, numberFlag, type Output, textFlag, UsageError } from '../command';
import { partPrefix } from '../whole';
import { type Outcome, runOne } from './one';
import { isDone, type Task, tasksFor } from './tasks';
import { overThreads, type Take } from './threads';

/** How often progress is printed, ms. */
const printEveryMs = 2000;
/** A thread may be writing there at this moment. */
const removed = { force: true, recursive: true, maxRetries: 3 };

/**
 * Runs a command for many files, one result each. A file that cannot be worked on stops no other; those are listed at the
 * end, and the exit code is then 2. `program` is what the threads run; null works on one file after the other.
 */
export async function runMany(command: CliCommand, given: Given, output: Output, program: URL | null): Promise<number> {
  const folder = textFlag(given, 'out')!;
  if (given.flags['provenance'] !== undefined)
    throw new UsageError('--provenance goes without --out, where each result has a file of its own beside it');
  const jobs = jobsOf(given);
  const tasks = tasksFor(command.many!, given, folder);
  mkdirSync(folder, { recursive: true });
  const open = given.flags['again'] ? tasks : tasks.filter(task => !isDone(task));
  const failed: string[] = [];
  const doubtful = new Map<string, readonly string[]>();
  const tell = progress(open.length, output);
  const take = queue(open, ({ input }, { problem, doubts }) => {
    if (problem !== null) failed.push(`${input}: ${problem}`);
    doubtful.set(input, doubts);
    tell(failed.length);
  });
  const threads = Math.min(jobs, open.length);
  const stop = (signal: NodeJS.Signals) => {
    for (const name of readdirSync(folder)) if (name.startsWith(partPrefix)) rmSync(join(folder, name), removed);
    output.note(`stopped; the same command goes on from here. Results in ${folder}`);
    process.exit(128 + constants.signals[signal]);
  };
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, stop);
  try {
    if (program && threads > 0) await overThreads(program, command.name, given, threads, take);
    else for (let next = take(); next; next = take()) next.done(await runOne(command, given, next.task));
  } finally {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.off(signal, stop);
  }
  // In the order of the files, whichever was done first.
  for (const { input } of open) for (const text of doubtful.get(input) ?? []) output.doubt(`${input}: ${text}`);
  const skipped = tasks.length - open.length;
  output.note(
    `${open.length - failed.length} done, ${skipped} done before, ${failed.length} failed, of ${tasks.length}; results in ${folder}`,
  );
  for (const line of failed.sort()) output.note(`failed: ${line}`);
  return failed.length > 0 ? 2 : 0;
}

function jobsOf(given: Given): number {
  const jobs = numberFlag(given, 'jobs', 1) ?? availableParallelism();
  if (!Number.isSafeInteger(jobs)) throw new UsageError('--jobs needs a whole number');
  return jobs;
}

/** Hands out one task after the other. */
function queue(tasks: readonly Task[], done: (task: Task, outcome: Outcome) => void): Take {
  let next = 0;
  return () => {
    const task = tasks[next++];
    return task ? { task, done: outcome => done(task, outcome) } : null;
  };
}

function progress(total: number, output: Output): (failed: number) => void {
  const began = Date.now();
  let printedAt = began;
  let count = 0;
  return failed => {
    count++;
    const now = Date.now();
    if (now - printedAt < printEveryMs || count === total) return;
    printedAt = now;
    const left = Math.ceil(((now - began) / count) * (total - count) * 1e-3);
    output.note(`${count} of ${total}${failed > 0 ? ` (${failed} failed)` : ''}, about ${left} s left`);
  };
}
