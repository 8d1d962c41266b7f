import { useEffect, useRef, useState } from 'react';
import { type Interrupted as Import, interruptedImports, removeInterrupted } from '../../state/import-trail';
import { useApp, usePart } from '../app-context';

/** Imports that ended with their tab, each to be begun anew or taken away. */
export function Interrupted() {
  const app = useApp();
  const stage = usePart(app.importing.store, s => s.stage);
  const [found, setFound] = useState<readonly Import[]>([]);
  useEffect(() => {
    // Without a store there is nothing to be found, and the page says so elsewhere.
    if (stage === 'none') interruptedImports(app).then(setFound, () => undefined);
  }, [app, stage]);
  if (found.length === 0) return null;
  const remove = async (one: Import) => {
    await removeInterrupted(app, one).catch((error: Error) => app.shell.notify(error.message));
    setFound(found.filter(r => r !== one));
  };
  return (
    <section aria-labelledby="interrupted">
      <h2 id="interrupted">Interrupted imports</h2>
      {found.map(one => (
        <One key={`${one.session}/${one.fileName}`} one={one} onRemove={() => remove(one)} />
      ))}
    </section>
  );
}

function One({ one, onRemove }: { one: Import; onRemove: () => Promise<void> }) {
  const app = useApp();
  const input = useRef<HTMLInputElement>(null);
  return (
    <p className="row" data-testid="interrupted-import">
      <span>
        The import of {one.fileName} was interrupted at {Math.floor(100 * one.share)} %: choose the file again, or
        remove what was read.
      </span>
      <button type="button" onClick={() => input.current?.click()}>
        Choose the file again
      </button>
      <input
        ref={input}
        type="file"
        hidden
        data-testid="interrupted-file"
        onChange={event => {
          const files = [...(event.target.files ?? [])];
          if (files.length > 0) void onRemove().then(() => app.takeFiles(files));
        }}
      />
      <button type="button" onClick={() => void onRemove()}>
        Remove
      </button>
    </p>
  );
}
