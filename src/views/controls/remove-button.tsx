import { useState } from 'react';

/** Takes something away, after one question in its place. */
export function RemoveButton({ question, onRemove }: { question: string; onRemove: () => Promise<void> }) {
  const [asking, setAsking] = useState(false);
  if (!asking) {
    return (
      <button type="button" className="quiet" onClick={() => setAsking(true)}>
        Remove …
      </button>
    );
  }
  return (
    <span className="row end">
      {question}
      <button type="button" onClick={() => void onRemove().then(() => setAsking(false))}>
        Remove
      </button>
      <button type="button" onClick={() => setAsking(false)}>
        Keep
      </button>
    </span>
  );
}
