import { write } from './signal-steps';

self.onmessage = ({ data }: MessageEvent<Parameters<typeof write>>) => {
  write(...data).then(
    answer => postMessage({ answer }),
    (error: Error) => postMessage({ error: `${error.name}: ${error.message}` }),
  );
};
