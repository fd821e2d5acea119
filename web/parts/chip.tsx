/** The flat colour of a finish. Hidden from screen readers, since the name stands beside it. */
export function Chip({ hex }: { readonly hex: string | null | undefined }) {
  return hex ? (
    <span class="chip" aria-hidden="true" style={{ backgroundColor: hex }} />
  ) : (
    <span class="chip none" aria-hidden="true" />
  );
}
