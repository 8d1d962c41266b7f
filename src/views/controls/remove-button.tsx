import { useEffect, useRef, useState } from 'react';

/** A button that asks before it removes. The focus stays with the question, so that a keyboard goes on from there. */
export function RemoveButton(props: { what: string; question: string; onRemove: () => Promise<void> }) {
  const [asking, setAsking] = useState(false);
  const first = useRef<HTMLButtonElement>(null);
  const keep = useRef<HTMLButtonElement>(null);
  const asked = useRef(false);
  useEffect(() => {
    if (asking) keep.current!.focus();
    else if (asked.current) first.current!.focus();
    asked.current = asking;
  }, [asking]);
  if (!asking) {
    return (
      <button ref={first} type="button" className="quiet" onClick={() => setAsking(true)}>
        Remove …<span className="visually-hidden"> {props.what}</span>
      </button>
    );
  }
  return (
    <span className="row end">
      {props.question}
      <button type="button" onClick={() => void props.onRemove().finally(() => setAsking(false))}>
        Remove
      </button>
      <button ref={keep} type="button" onClick={() => setAsking(false)}>
        Keep
      </button>
    </span>
  );
}
