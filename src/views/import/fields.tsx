import { type ReactNode, useState } from 'react';

/** A labelled field. */
export function Field({ label, children }: { label: string; children: ReactNode }) {
  return (
    // biome-ignore lint/a11y/noLabelWithoutControl: the control is the child
    <label className="field">
      <span>{label}</span>
      {children}
    </label>
  );
}

/** A number as text, with point or comma; what is no number becomes NaN and the field says so. */
export function NumberField(props: { label: string; value: number; onChange: (value: number) => void; size?: number }) {
  const [text, setText] = useState(Number.isFinite(props.value) ? String(props.value) : '');
  const parsed = text.trim() === '' ? Number.NaN : Number(text.replace(',', '.'));
  const shown = Object.is(parsed, props.value) ? text : Number.isFinite(props.value) ? String(props.value) : text;
  return (
    <Field label={props.label}>
      <input
        inputMode="decimal"
        size={props.size ?? 8}
        value={shown}
        aria-invalid={Number.isNaN(parsed)}
        onChange={event => {
          setText(event.target.value);
          const { value } = event.target;
          props.onChange(value.trim() === '' ? Number.NaN : Number(value.replace(',', '.')));
        }}
      />
    </Field>
  );
}

/** One of a few words. */
export function ChoiceField<T extends string>(props: {
  label: string;
  value: T;
  words: Readonly<Record<T, string>>;
  onChange: (value: T) => void;
}) {
  return (
    <Field label={props.label}>
      <select value={props.value} onChange={event => props.onChange(event.target.value as T)}>
        {(Object.keys(props.words) as T[]).map(value => (
          <option key={value} value={value}>
            {props.words[value]}
          </option>
        ))}
      </select>
    </Field>
  );
}
