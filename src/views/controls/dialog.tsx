import { type ReactNode, useId, useLayoutEffect, useRef } from 'react';

/** A modal sheet on the native element: it traps focus, closes on Escape, and gives focus back. */
export function Sheet(props: { title: string; onClose: () => void; children: ReactNode; wide?: boolean }) {
  const ref = useRef<HTMLDialogElement>(null);
  const titleId = useId();
  // Closed while it is still on the page: only then does the browser give the focus back to where it was.
  useLayoutEffect(() => {
    const dialog = ref.current!;
    if (!dialog.open) dialog.showModal();
    // A field that waits for typing comes before the button that closes, which the browser would choose.
    dialog.querySelector<HTMLElement>('[data-focus]')?.focus();
    return () => dialog.close();
  }, []);
  return (
    <dialog
      ref={ref}
      className={props.wide ? 'sheet sheet-wide' : 'sheet'}
      aria-labelledby={titleId}
      onKeyDown={event => {
        // In a text of several lines Enter is a new line; with Control it sends the sheet, as elsewhere.
        if (!(event.target instanceof HTMLTextAreaElement) || event.key !== 'Enter') return;
        if (!(event.ctrlKey || event.metaKey) || event.repeat) return;
        event.currentTarget.querySelector<HTMLElement>('button[type="submit"]')?.click();
      }}
      onCancel={event => {
        event.preventDefault();
        props.onClose();
      }}
    >
      <header className="sheet-head">
        <h2 id={titleId}>{props.title}</h2>
        <button type="button" className="quiet" onClick={props.onClose}>
          Close
        </button>
      </header>
      {props.children}
    </dialog>
  );
}
