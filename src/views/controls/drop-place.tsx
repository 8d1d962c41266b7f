import { type ReactNode, useState } from 'react';

/** A place to drop files on; what stands in it says what to drop, and holds the buttons that do the same by keyboard. */
export function DropPlace(props: { onDrop: (dropped: DataTransfer) => void; testId?: string; children: ReactNode }) {
  const [over, setOver] = useState(false);
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: dropping is an addition to the buttons inside
    <div
      className={over ? 'drop over' : 'drop'}
      data-testid={props.testId}
      onDragOver={event => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={event => {
        event.preventDefault();
        setOver(false);
        props.onDrop(event.dataTransfer);
      }}
    >
      {props.children}
    </div>
  );
}
