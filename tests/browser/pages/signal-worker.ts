import { write, writeApart } from './signal-steps';

const steps: Record<string, (...args: never[]) => Promise<unknown>> = { write, writeApart };

self.onmessage = ({ data }: MessageEvent<{ step: string; args: never[] }>) => {
  steps[data.step]!(...data.args).then(
    answer => postMessage({ answer }),
    (error: Error) => postMessage({ error: `${error.name}: ${error.message}` }),
  );
};
