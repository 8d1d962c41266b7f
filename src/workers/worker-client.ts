import { expose, proxy, type Remote, transfer, wrap } from 'comlink';
import { withoutDisk } from '../storage/without-disk';
import { Cancelled, type JobOutcome, jobOutcome, resolveOutcome } from './outcome';

/** What a job in a worker is given beside its input. */
export interface JobControl<P = never> {
  /** Aborts with a Cancelled when the page no longer wants the answer. */
  readonly signal: AbortSignal;
  /** Tells the page; the report is an object. */
  progress(report: P): void;
}

// biome-ignore lint/suspicious/noExplicitAny: the table is generic; each job keeps its own types through `Jobs[K]`
export type JobTable = Record<string, (input: any, control: JobControl<any>) => Promise<unknown>>;

type Input<F> = F extends (input: infer I, ...rest: never[]) => unknown ? I : never;
type Report<F> = F extends (input: never, control: JobControl<infer P>) => unknown ? P : never;
type Answer<F> = F extends (...args: never[]) => Promise<infer A> ? A : never;

interface Service {
  run(id: number, job: string, input: unknown, report: (progress: unknown) => void): Promise<JobOutcome<unknown>>;
  cancel(id: number): void;
  /** Name of a lock held as long as the worker lives; null where there are no locks. */
  life(): Promise<string | null>;
}

/** In the worker: answers calls for these jobs. Buffers in an answer or a report are moved, not copied, so a job keeps none. */
export function serve(jobs: JobTable): void {
  const running = new Map<number, AbortController>();
  const service: Service = {
    async run(id, job, input, report) {
      const abort = new AbortController();
      running.set(id, abort);
      const control: JobControl<unknown> = {
        signal: abort.signal,
        progress: progress => report(transfer(progress as object, buffersIn(progress))),
      };
      const outcome = await jobOutcome(() => jobs[job]!(input, control));
      running.delete(id);
      return transfer(outcome, buffersIn(outcome));
    },
    cancel: id => running.get(id)?.abort(new Cancelled()),
    life: holdLife,
  };
  expose(service);
}

/** A worker that the browser ends says nothing; the lock it held is given to who waits for it. */
function holdLife(): Promise<string | null> {
  if (!navigator.locks) return Promise.resolve(null);
  const name = `beat-ledger-worker/${crypto.randomUUID()}`;
  return new Promise(resolve => {
    void navigator.locks.request(name, () => {
      resolve(name);
      return new Promise<void>(() => undefined);
    });
  });
}

/** Buffers of typed arrays anywhere in plain data, each once. */
export function buffersIn(value: unknown, found: Set<ArrayBuffer> = new Set()): ArrayBuffer[] {
  if (value instanceof ArrayBuffer) found.add(value);
  else if (ArrayBuffer.isView(value)) buffersIn(value.buffer, found);
  else if (Array.isArray(value)) for (const item of value) buffersIn(item, found);
  else if (value instanceof Map) for (const item of value.values()) buffersIn(item, found);
  else if (value?.constructor === Object) for (const item of Object.values(value)) buffersIn(item, found);
  return [...found];
}

/** A job under way. */
export interface Running<T> {
  readonly done: Promise<T>;
  /** `done` then rejects with a Cancelled. */
  cancel(): void;
}

export interface WorkerClient<J extends JobTable> {
  /** Starts a job; `moved` lists buffers of the input that the page gives away. */
  start<K extends keyof J & string>(
    job: K,
    input: Input<J[K]>,
    onProgress?: (report: Report<J[K]>) => void,
    moved?: readonly ArrayBuffer[],
  ): Running<Answer<J[K]>>;
  /** Ends the worker; jobs under way reject. */
  close(): void;
}

interface Behind {
  readonly service: Remote<Service>;
  readonly worker: Worker;
  readonly dead: Promise<never>;
  kill(why: Error): void;
}

/** A worker that has not answered by then never will. */
const startPatienceMs = 60_000;

const endedWords =
  'The background work was ended by the browser, often for lack of memory. Nothing of it was saved, and nothing else is lost: try again.';

/**
 * On the page: the worker starts with the first job. One that dies rejects its jobs, and the next job starts another.
 * `loadJobs` is for a page that may keep nothing: what is in its memory no worker can read, so the page does the work.
 */
export function openWorkerClient<J extends JobTable>(
  makeWorker: () => Worker,
  loadJobs: () => Promise<J>,
): WorkerClient<J> {
  let current: Behind | null = null;
  const here = new Set<AbortController>();
  let nextId = 1;
  const end = (why: Error) => {
    current?.worker.terminate();
    current?.kill(why);
    current = null;
  };
  const begin = () => {
    const worker = makeWorker();
    let kill: (why: Error) => void = () => undefined;
    const dead = new Promise<never>((_resolve, reject) => {
      kill = reject;
    });
    dead.catch(() => undefined);
    worker.addEventListener('error', event => {
      event.preventDefault();
      end(new Error(`The background work stopped${event.message ? `: ${event.message}` : '.'}`));
    });
    const behind = { worker, service: wrap<Service>(worker), dead, kill };
    void whenEnded(behind.service, () => behind === current && end(new Error(endedWords)));
    return behind;
  };
  return {
    start(job, input, onProgress = () => undefined, moved = []) {
      if (withoutDisk()) return startHere(loadJobs, here, job, input, onProgress as (report: unknown) => void);
      current ??= begin();
      const { service, dead } = current;
      const id = nextId++;
      const given = moved.length > 0 ? transfer(input as object, [...moved]) : input;
      const answer = service.run(id, job, given, proxy(onProgress as (report: unknown) => void));
      const done = Promise.race([answer, dead]).then(outcome => resolveOutcome(outcome as JobOutcome<never>));
      return { done, cancel: () => void service.cancel(id) };
    },
    close() {
      for (const abort of here) abort.abort(new Cancelled());
      end(new Cancelled());
    },
  };
}

/** Calls back once the worker no longer lives. */
async function whenEnded(service: Remote<Service>, ended: () => void): Promise<void> {
  const late = new Promise<'late'>(resolve => setTimeout(resolve, startPatienceMs, 'late'));
  const life = await Promise.race([service.life(), late]);
  if (life === 'late') ended();
  else if (life !== null) await navigator.locks.request(life, ended);
}

/** The job on this very thread. */
function startHere<J extends JobTable, K extends keyof J & string>(
  loadJobs: () => Promise<J>,
  here: Set<AbortController>,
  job: K,
  input: unknown,
  onProgress: (report: unknown) => void,
): Running<Answer<J[K]>> {
  const abort = new AbortController();
  here.add(abort);
  const work = async () => {
    const jobs = await loadJobs();
    abort.signal.throwIfAborted();
    return (await jobs[job]!(input, { signal: abort.signal, progress: onProgress })) as Answer<J[K]>;
  };
  return { done: work().finally(() => here.delete(abort)), cancel: () => abort.abort(new Cancelled()) };
}
