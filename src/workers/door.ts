import { expose, proxy, type Remote, transfer, wrap } from 'comlink';
import { Cancelled, type Outcome, outcomeOf, settle } from './outcome';

/** What a job in a worker is given beside its input. */
export interface JobControl<P = never> {
  /** Aborts with a Cancelled when the page no longer wants the answer. */
  readonly signal: AbortSignal;
  /** Tells the page; the report is an object. */
  progress(report: P): void;
}

// biome-ignore lint/suspicious/noExplicitAny: the table is generic; each job keeps its own types through `Jobs[K]`
export type Jobs = Record<string, (input: any, control: JobControl<any>) => Promise<unknown>>;

type Input<F> = F extends (input: infer I, ...rest: never[]) => unknown ? I : never;
type Report<F> = F extends (input: never, control: JobControl<infer P>) => unknown ? P : never;
type Answer<F> = F extends (...args: never[]) => Promise<infer A> ? A : never;

interface Service {
  run(id: number, job: string, input: unknown, report: (progress: unknown) => void): Promise<Outcome<unknown>>;
  cancel(id: number): void;
}

/** In the worker: answers calls for these jobs. Buffers in an answer or a report are moved, not copied, so a job keeps none. */
export function serve(jobs: Jobs): void {
  const running = new Map<number, AbortController>();
  const service: Service = {
    async run(id, job, input, report) {
      const abort = new AbortController();
      running.set(id, abort);
      const control: JobControl<unknown> = {
        signal: abort.signal,
        progress: progress => report(transfer(progress as object, buffersIn(progress))),
      };
      const outcome = await outcomeOf(() => jobs[job]!(input, control));
      running.delete(id);
      return transfer(outcome, buffersIn(outcome));
    },
    cancel: id => running.get(id)?.abort(new Cancelled()),
  };
  expose(service);
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

export interface Door<J extends Jobs> {
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

/** On the page: the worker starts with the first job. One that dies rejects its jobs, and the next job starts another. */
export function openDoor<J extends Jobs>(makeWorker: () => Worker): Door<J> {
  let current: { service: Remote<Service>; worker: Worker; dead: Promise<never>; kill(why: Error): void } | null = null;
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
    return { worker, service: wrap<Service>(worker), dead, kill };
  };
  return {
    start(job, input, onProgress = () => undefined, moved = []) {
      current ??= begin();
      const { service, dead } = current;
      const id = nextId++;
      const given = moved.length > 0 ? transfer(input as object, [...moved]) : input;
      const answer = service.run(id, job, given, proxy(onProgress as (report: unknown) => void));
      const done = Promise.race([answer, dead]).then(outcome => settle(outcome as Outcome<never>));
      return { done, cancel: () => void service.cancel(id) };
    },
    close: () => end(new Cancelled()),
  };
}
