/** A value as text that is the same whatever the order its fields were written in; empty for what is not there. */
export function canonical(value: unknown): string {
  return (
    JSON.stringify(value, (_, each: unknown) =>
      isPlain(each) ? Object.fromEntries(Object.entries(each).sort(([a], [b]) => (a < b ? -1 : 1))) : each,
    ) ?? ''
  );
}

/** Whether a value is an object with fields, and no array. */
export function isPlain(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
