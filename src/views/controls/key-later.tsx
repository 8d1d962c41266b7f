import { Suspense } from 'react';
import { fetched } from './fetched';

const KeyCap = fetched(async () => (await import('./key')).KeyCap);

/** The key of a command where the commands may not be here yet: its place stays empty until they are. */
export function KeyCapLater({ id }: { id: string }) {
  return (
    <Suspense>
      <KeyCap id={id} />
    </Suspense>
  );
}
