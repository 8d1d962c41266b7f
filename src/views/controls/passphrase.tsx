import { useState } from 'react';
import { useApp, usePart } from '../app-context';
import { Sheet } from './dialog';

/** Asks for the passphrase of a locked file, over any screen. */
export function PassphraseSheet() {
  const app = useApp();
  const question = usePart(app.ui, s => s.question);
  return question ? <Ask key={question.wrong + question.file} question={question} /> : null;
}

function Ask({ question }: { question: { file: string; wrong: string; answer: (passphrase: string | null) => void } }) {
  const [passphrase, setPassphrase] = useState('');
  return (
    <Sheet title="A locked bundle" onClose={() => question.answer(null)}>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          if (passphrase !== '') question.answer(passphrase);
        }}
      >
        <label className="field">
          <span>passphrase of {question.file}</span>
          <input
            data-focus
            type="password"
            autoComplete="off"
            value={passphrase}
            onChange={e => setPassphrase(e.target.value)}
          />
        </label>
        {question.wrong && (
          <p role="alert" className="needs">
            {question.wrong}
          </p>
        )}
        <div className="row end">
          <button type="submit" className="chief">
            Unlock
          </button>
        </div>
      </form>
    </Sheet>
  );
}
