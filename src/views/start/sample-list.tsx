import { useEffect, useState } from 'react';
import { hashOfScreen } from '../../state/shell-store';
import type { CatalogueEntry } from '../../storage/sessions';
import { useApp } from '../app-context';

interface Sample {
  readonly file: string;
  readonly id: string;
  readonly title: string;
  readonly about: string;
}

/** Invented sessions that come with the page; each is fetched from where the page itself came from. */
export function SampleList({ kept, onDone }: { kept: readonly CatalogueEntry[]; onDone: () => void }) {
  const app = useApp();
  const [samples, setSamples] = useState<readonly Sample[]>([]);
  useEffect(() => {
    fetch('samples/index.json')
      .then(response => (response.ok ? response.json() : []))
      .then(setSamples, () => setSamples([]));
  }, []);
  const open = async (sample: Sample) => {
    if (!kept.some(s => s.id === sample.id)) {
      const response = await fetch(`samples/${sample.file}`);
      if (!response.ok) return app.shell.notify(`${sample.file} could not be fetched: ${response.status}`);
      const file = new File([await response.blob()], sample.file);
      await app.takeFiles([file]);
      onDone();
    }
    location.hash = hashOfScreen({ name: 'review', sessionId: sample.id });
  };
  return (
    <>
      <p className="soft">
        A mountain-rescue team’s training day, invented: five activities, two recorders a volunteer.
      </p>
      <ul className="samples">
        {samples.map(sample => (
          <li key={sample.file}>
            <button type="button" onClick={() => void open(sample)}>
              {sample.title}
            </button>{' '}
            <span className="soft small">{sample.about}</span>
          </li>
        ))}
      </ul>
    </>
  );
}
