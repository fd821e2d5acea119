/** A printed sheet to be had: where, and in which forms. */
export interface SheetLinksProps {
  /** What it is, at the start of the line. */
  readonly label: string;
  /** Address of the PDF, without a query of its own. */
  readonly address: string;
  /** What every form of it asks for. */
  readonly query?: string;
}

const FORMS = [
  ['A4', ''],
  ['Letter', 'paper=letter'],
  ['A4 for press (PDF/X-4, 3 mm bleed)', 'press=1'],
  ['Letter for press', 'paper=letter&press=1'],
] as const;

/** Links to a sheet on either paper, in a line of small print; each opens beside the page. */
export function SheetLinks({ label, address, query = '' }: SheetLinksProps) {
  return (
    <p class="small no-print">
      {label}:{' '}
      {FORMS.map(([form, asked], i) => {
        const whole = [query, asked].filter(Boolean).join('&');
        return (
          <>
            {i > 0 && ' · '}
            <a href={whole ? `${address}?${whole}` : address} target="_blank" rel="noreferrer">
              {form}
              <span class="unseen"> of {label.toLowerCase()}</span>
            </a>
          </>
        );
      })}
    </p>
  );
}
