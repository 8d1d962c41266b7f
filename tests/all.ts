// npm test: all that must hold, in the order that keeps every core busy. Types, lint and the build come first, as nothing
// else is worth its time while one of them fails. The unit tests then run from beginning to end on what the others leave:
// servers and browsers spend a sixth of their time waiting.
import { type ChildProcess, spawn } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { constants, setPriority } from 'node:os';
import { join } from 'node:path';

interface Step {
  readonly name: string;
  readonly command: string;
  readonly low?: boolean;
}

const root = join(import.meta.dirname, '..');
const running = new Set<ChildProcess>();
const failed: string[] = [];

const checks: Step[] = ['types', 'lint', 'build'].map(name => ({ name, command: `npm run -s ${name}` }));
const unit: Step = { name: 'unit', command: 'npm run -s unit', low: true };
const besides: Step[] = [
  { name: 'remote', command: 'npm run -s remote' },
  { name: 'engines', command: 'npm run -s engines -- firefox webkit' },
];
const browser: Step = { name: 'browser', command: 'npm run -s browser' };

for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => stop(1));

const start = Date.now();
await Promise.all(checks.map(quietly));
if (failed.length === 0) {
  const units = quietly(unit);
  await Promise.all(besides.map(quietly));
  await live(browser);
  await units;
}
console.log(
  failed.length > 0 ? `failed: ${failed.join(', ')}` : `all passed in ${((Date.now() - start) / 1000).toFixed(0)} s`,
);
process.exit(failed.length > 0 ? 1 : 0);

/** Runs a step and prints what it said when it has ended: lines of several at once cannot be read. */
function quietly(step: Step): Promise<void> {
  const child = started(step, 'pipe');
  const said: Buffer[] = [];
  child.stdout!.on('data', (part: Buffer) => void said.push(part));
  child.stderr!.on('data', (part: Buffer) => void said.push(part));
  return ended(step, child, () => process.stdout.write(Buffer.concat(said)));
}

/** Runs a step whose lines are printed as they come. */
function live(step: Step): Promise<void> {
  return ended(step, started(step, 'inherit'), () => undefined);
}

function started(step: Step, output: 'pipe' | 'inherit'): ChildProcess {
  // A session of its own: the kernel weighs sessions against each other, and niceness counts within one only.
  const child = spawn(step.command, { cwd: root, shell: true, stdio: ['ignore', output, output], detached: true });
  running.add(child);
  if (step.low) giveWay(child.pid!);
  return child;
}

async function ended(step: Step, child: ChildProcess, print: () => void): Promise<void> {
  const start = Date.now();
  const [code, signal] = await new Promise<[number | null, NodeJS.Signals | null]>(resolve =>
    child.on('close', (...how) => resolve(how)),
  );
  running.delete(child);
  print();
  const how = code === 0 ? 'passed' : `failed (${signal ?? code})`;
  console.log(`${step.name}: ${how} after ${((Date.now() - start) / 1000).toFixed(0)} s`);
  if (code !== 0) failed.push(step.name);
}

/** Lets everything else go first, where the system has a word for it. */
function giveWay(pid: number): void {
  setPriority(pid, constants.priority.PRIORITY_LOW);
  try {
    writeFileSync(`/proc/${pid}/autogroup`, String(constants.priority.PRIORITY_LOW));
  } catch {
    // Other systems know niceness alone.
  }
}

/** Ends what was started, with all that it started. */
function stop(code: number): never {
  for (const child of running) process.kill(-child.pid!);
  process.exit(code);
}
