import { useEffect, useState } from 'react';
import { type Interrupted as Import, interruptedImports, removeInterrupted } from '../../state/import/journal';
import { useApp, usePart } from '../app-context';
import { ChooseFiles } from '../controls/choose-files';

/** Imports that ended with their tab, each to be begun again or taken away. */
export function InterruptedImports() {
  const app = useApp();
  const stage = usePart(app.importing.store, s => s.stage);
  const [found, setFound] = useState<readonly Import[]>([]);
  useEffect(() => {
    // Without a store there is nothing to be found, and the page says so elsewhere.
    if (stage === 'none') interruptedImports(app).then(setFound, () => undefined);
  }, [app, stage]);
  if (found.length === 0) return null;
  const remove = async (one: Import) => {
    await removeInterrupted(app, one).catch((error: Error) => app.ui.notify(error.message));
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
  return (
    <p className="row" data-testid="interrupted-import">
      <span>
        The import of {one.fileName} was interrupted at {Math.floor(100 * one.share)} %: choose the file again, or
        remove what was read.
      </span>
      <ChooseFiles
        title="Choose the file again"
        single
        testId="interrupted-file"
        onChoose={files => void onRemove().then(() => app.importFiles(files))}
      />
      <button type="button" onClick={() => void onRemove()}>
        Remove
      </button>
    </p>
  );
}
