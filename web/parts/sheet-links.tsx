import { commonTexts } from '../texts/common.ts';

/** A printed sheet, and where its PDFs are. */
interface SheetLinksProps {
  /** Names the sheet, at the start of the line. */
  readonly label: string;
  /** Address of the PDF, without a query. */
  readonly address: string;
  /** Query that every form of the sheet needs. */
  readonly query?: string;
}

const texts = commonTexts.sheets;

const FORMS = [
  [texts.a4, ''],
  [texts.letter, 'paper=letter'],
  [texts.a4Press, 'press=1'],
  [texts.letterPress, 'paper=letter&press=1'],
] as const;

/** Links to a sheet in each paper size. They open in a new tab. */
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
              <span class="unseen">{texts.ofSheet(label)}</span>
            </a>
          </>
        );
      })}
    </p>
  );
}
