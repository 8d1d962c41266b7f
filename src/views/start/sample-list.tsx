import { useEffect, useState } from 'react';
import type { App } from '../../state/app';
import { hashOfScreen } from '../../state/stores/ui-store';
import type { CatalogueEntry } from '../../storage/sessions';
import { useApp } from '../app-context';

interface Sample {
  readonly file: string;
  readonly id: string;
  readonly title: string;
  readonly about: string;
}

async function fetchSample(app: App, file: string): Promise<string | undefined> {
  const response = await fetch(`samples/${file}`).catch(() => null);
  if (!response) {
    app.ui.notify(`${file} needs the network the first time it is opened; after that it works offline.`);
    return undefined;
  }
  if (!response.ok) {
    app.ui.notify(`${file} could not be fetched (${response.status}): are all files deployed?`);
    return undefined;
  }
  const [id] = await app.importFiles([new File([await response.blob()], file)]);
  return id;
}

/** A sample is identified by its id: a review goes on with the signal it was begun on. */
const otherSession = (title: string) =>
  `${title}: another session of this title is stored here. It stays as it is, with its reviews; this one is beside it.`;

/** Invented sessions that come with the page; each is fetched from where the page itself came from. */
export function SampleList({ kept, onDone }: { kept: readonly CatalogueEntry[]; onDone: () => void }) {
  const app = useApp();
  const [samples, setSamples] = useState<readonly Sample[]>([]);
  useEffect(() => {
    fetch('samples/index.json')
      .then(response => response.json() as Promise<{ sessions: readonly Sample[] }>)
      .then(
        index => setSamples(index.sessions),
        () => app.ui.notify('The sample sessions could not be fetched: are all files deployed?'),
      );
  }, [app]);
  const [opening, setOpening] = useState(false);
  const open = async (sample: Sample) => {
    const known = kept.some(s => s.id === sample.id);
    setOpening(true);
    const id = known ? sample.id : await fetchSample(app, sample.file).finally(() => setOpening(false));
    if (id && kept.some(s => s.title === sample.title && s.id !== id) && !kept.some(s => s.id === id))
      app.ui.notify(otherSession(sample.title));
    onDone();
    if (id) location.hash = hashOfScreen({ name: 'review', sessionId: id });
  };
  return (
    <>
      <p className="soft">
        A mountain-rescue team’s training day, invented: five activities, two recorders a volunteer.
      </p>
      <ul className="samples">
        {samples.map(sample => (
          <li key={sample.file}>
            <button type="button" disabled={opening} onClick={() => void open(sample)}>
              {sample.title}
            </button>
            <span className="soft small">{sample.about}</span>
          </li>
        ))}
      </ul>
    </>
  );
}
