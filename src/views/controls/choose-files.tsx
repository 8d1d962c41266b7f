import { useRef } from 'react';

/** A button by which the person chooses files; the same ones may be chosen again. Nothing happens when none is chosen. */
export function ChooseFiles(props: {
  title: string;
  onChoose: (files: File[]) => void;
  testId?: string;
  /** One file only. */
  single?: boolean;
  /** A whole folder instead of single files. */
  folder?: boolean;
  accept?: string;
  chief?: boolean;
  disabled?: boolean;
}) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <button
        type="button"
        className={props.chief ? 'chief' : ''}
        disabled={props.disabled}
        onClick={() => input.current?.click()}
      >
        {props.title}
      </button>
      <input
        ref={input}
        type="file"
        multiple={!props.single}
        hidden
        accept={props.accept}
        data-testid={props.testId}
        {...(props.folder ? { webkitdirectory: '' } : {})}
        onChange={event => {
          const files = [...(event.target.files ?? [])];
          event.target.value = '';
          if (files.length > 0) props.onChoose(files);
        }}
      />
    </>
  );
}
