import type { ProblemTexts } from '../../problems.ts';
import { count, formatNumber, pick } from '../format-text.ts';

/** Where a finish is used. */
interface FinishUses {
  readonly schedules: readonly { readonly product: string; readonly variants: number }[];
  readonly lines: readonly string[];
  readonly rules: readonly string[];
}

/** Texts about stored finishes, articles, their images, approvals and history. */
export const FINISH_PROBLEMS = {
  'unknown-finish-code': (code: string) =>
    `There is no finish with the code “${code}”. Check the code against the list of finishes.`,
  'unknown-finish': {
    byCode: (code: string) => `There is no finish with the code “${code}”. Create it first, or correct the code.`,
    deleted: (code: string) =>
      `The finish “${code}” was deleted in the meantime, so this change was not saved. Choose another finish.`,
  },
  'unknown-article': (code: string) => `There is no article “${code}”. Create it first, or leave the article out.`,
  'not-found': {
    article: (code: string) => `There is no article “${code}”. Check the code against the list of articles.`,
    image: 'There is no image with this address. Upload the image first.',
  },
  'unknown-map': 'An image that this finish uses was never uploaded. Upload it first.',
  'unknown-supplied':
    'The supplied material of this finish is not stored. Import the variants of the model again, or save the finish without the supplied material.',
  'finish-in-use': {
    finish: (code: string, { schedules, lines, rules }: FinishUses) => {
      const uses = [
        ...schedules.map(({ product, variants }) => `schedule of ${product} (${count(variants, 'variant')})`),
        ...lines.map((line) => `range of ${line}`),
        ...rules.map((line) => `rules of ${line}`),
      ];
      return `“${code}” is in use: ${uses.join(', ')}. Remove it there first.`;
    },
    familyOfArticle: (finishes: number, family: string) =>
      `${count(finishes, 'finish', 'finishes')} of this article ${pick(finishes, 'has', 'have')} the family ${family}. Change ${pick(finishes, 'it', 'them')} first, or keep the family.`,
    colourMapOfArticle: (finishes: number, example: string) =>
      finishes === 1
        ? `The finish ${example} takes its colour from the colour map of this article. Give it a colour of its own first, or keep the map.`
        : `${formatNumber(finishes)} finishes, such as ${example}, take their colour from the colour map of this article. Give them colours of their own first, or keep the map.`,
  },
  'stale-finishes': {
    file: (code: string) =>
      `“${code}” was changed, added or deleted while Dyeworks read the file. Check the preview again, then import.`,
    model: (code: string) =>
      `The finish ${code} was changed, added or deleted while Dyeworks read the model. Import the variants again.`,
  },
  'unknown-revision': {
    ofFinish: (code: string, revision: number, range: string | null) =>
      `${code} has no revision ${revision}. ${range ? `Its history has revisions ${range}.` : 'Its history is empty.'}`,
  },
  'reason-needed': 'A rejection needs a reason, so that the maker knows what to change. Add one.',
  'image-type': 'A map has to be a PNG, JPEG, WebP or KTX2 file. Export the map in one of these formats.',
  'image-too-large': {
    upload: (widthPx: number, heightPx: number) =>
      `The image has ${widthPx} × ${heightPx} pixels; 8192 × 8192 are allowed. Make it smaller: 2048 px are enough for one repeat.`,
    inModel: (image: number, widthPx: number, heightPx: number) =>
      `Image ${image} of the model has ${widthPx} × ${heightPx} pixels. Make it smaller: 2048 px are enough for a part of a product.`,
  },
  'image-unreadable': {
    profile: 'The colour profile of the image is damaged. Convert the image to sRGB and export it again.',
    stored: 'A stored image is damaged. Upload it again, and save the finish with the new one.',
    damaged: (fault: string) => `The image file is damaged: ${fault}. Export it again.`,
    notMeasured: 'Dyeworks cannot adjust this image because it cannot measure it (KTX2). Ask for it without contrast.',
  },
  'image-colour-model':
    'The image is CMYK, which is meant for print. Maps have to be RGB or grey. Convert the image to sRGB and export it again.',
} as const satisfies ProblemTexts;

/** Texts about colours, spectra, gloss readings and the source of a finish's colour. */
export const COLOUR_PROBLEMS = {
  'colour-incomplete': {
    onlyOneWay: (given: readonly string[]) =>
      `Give a colour in one way: hex; lab or xyz with illuminant and observer; or spectrum. ${
        given.length === 0 ? 'This one has none of them.' : `This one has ${given.join(' and ')}.`
      }`,
    notHex: (text: string) =>
      `“${text}” is not an sRGB hex colour. Use # and six digits or letters from a to f, such as #2f5d73.`,
    outsideRange: (name: string, value: number | undefined, low: number, high: number) =>
      `${name} is ${value}. Give a number from ${low} to ${high}.`,
    withoutViewing:
      'Lab and XYZ need the illuminant and the observer of the measurement: the same numbers mean another colour under another light. Add illuminant (D50 or D65) and observer (2deg or 10deg).',
    missingReading: (nm: number) =>
      `The spectrum has no reading at ${nm} nm. Every step needs one. Measure again, or ask for the full file.`,
    noReadings: (from: number, until: number) =>
      `The spectrum has no values. Give readings from ${from} to ${until} nm at least.`,
    tooFewReadings: (
      given: { startNm: number; endNm: number; values: number },
      from: number,
      until: number,
      needed: number,
      stepNm: number,
    ) =>
      `The spectrum runs from ${given.startNm} to ${given.endNm} nm with ${given.values} values. It has to cover ${from} to ${until} nm, which takes ${needed} values every ${stepNm} nm.`,
    noColourMap:
      'The finish takes its colour from the colour map but has no colour map. Add a colour map, or give a colour.',
    noSpecification:
      'The finish uses its specified colour, but no colour is given. Add a colour, or take the colour from the map.',
    noColour: 'The finish has no colour. Give a colour, or a colour map whose mean is the colour.',
    chipNotHex: 'A chip needs a colour as #rrggbb.',
  },
  'colour-unsupported': {
    viewing: (illuminant: string, observer: string) =>
      `Measurements under ${illuminant} with the ${observer} observer are not supported. Ask the supplier for D65 or D50 with the 2deg or 10deg observer, or for the spectrum.`,
    geometry: (geometry: string) =>
      `The measuring geometry “${geometry}” is unknown. Use di:8 (specular included), de:8 (specular excluded) or 45:0, or leave it out.`,
  },
  'spectrum-unreadable': {
    step: (stepNm: number) => `The spectrum has steps of ${stepNm} nm. Export it every 5, 10 or 20 nm.`,
    start: (startNm: number) =>
      `The spectrum starts at ${startNm} nm. Give the wavelength of its first value, such as 380 or 400.`,
    range: (startNm: number, endNm: number, lowest: number, highest: number) =>
      `The spectrum runs from ${startNm} to ${endNm} nm. Cut it to ${lowest}–${highest} nm, or check that start, step and values match.`,
    percent: (reading: string) =>
      `The spectrum reads ${reading}, which looks like percent. Reflectance runs from 0 to 1: divide the values by 100.`,
    fluorescent: (reading: string) =>
      `The spectrum reads ${reading}. A surface that returns more light than it receives is fluorescent, and one reflectance curve cannot describe that. Give its Lab values with illuminant and observer.`,
    negative: (reading: string) =>
      `The spectrum reads ${reading}. Reflectance cannot be negative. Calibrate the instrument on its black trap and measure again.`,
    unevenSteps: 'The wavelengths are not evenly spaced, or one occurs twice. Give a reading every 5, 10 or 20 nm.',
    missingField: (name: string) =>
      `The spectrum has no ${name}, so its readings have no wavelengths. Add it to WavelengthRange of the ColorSpecification.`,
  },
  'gloss-incomplete': {
    outsideRange: (gu: number | string) =>
      `A gloss reading is ${gu}. Gloss units start at 0; black glass has 100 (ISO 2813). Correct the reading.`,
    noAngle:
      'A gloss reading needs its angle: gu60 in general, gu20 for high gloss, gu85 for matt. Add one, or leave gloss out.',
  },
  'invalid-field': {
    familyOfArticle: (article: string, family: string) =>
      `The article ${article} belongs to the family ${family}, so its finishes do too. Use that family, or another article.`,
  },
} as const satisfies ProblemTexts;

/** Texts about files of measured finishes: CSV, CGATS.17 and CxF3. */
export const IMPORT_PROBLEMS = {
  'import-unreadable': {
    noRows: 'The file contains no finishes. Send one with at least one row of data.',
    tooManyRows: (rows: number, most: number) =>
      `The file has ${rows} rows; one import takes ${most} at most. Split the file.`,
    tooLarge: 'Reading the file needs too much memory or time. Split it, and import the parts one by one.',
    csv: (fault: string) => `The CSV file is damaged: ${fault}. Check its quotation marks.`,
    csvTooManyColumns: (columns: number, most: number) =>
      `The header has ${columns} columns; ${most} are allowed. Remove columns that finishes do not need.`,
    csvMissingColumns: (names: string) => `The first row has to name the columns, but ${names} is missing. Add it.`,
    csvUnknownColumns: (names: string) => `These columns are unknown: ${names}. Rename or remove them.`,
    csvGivenColumns: (cells: number, given: number) =>
      `The call names ${given} columns, but the first row has ${cells}. Name each column, with “-” for one to leave out.`,
    csvRepeatedColumns: (names: string) => `These columns occur twice: ${names}. Keep one of each.`,
    csvCellCount: (columns: number, cells: number) =>
      `The header has ${columns} columns, but this row has ${cells}. Put quotation marks around cells that contain the separator.`,
    cgatsNestedFormat: (line: number) => `Line ${line}: BEGIN_DATA_FORMAT is inside another part. End that part first.`,
    cgatsFormatNotBegun: (line: number) => `Line ${line}: END_DATA_FORMAT has no BEGIN_DATA_FORMAT. Add it.`,
    cgatsDataWithoutFormat: (line: number) =>
      `Line ${line}: BEGIN_DATA has to follow a data format. Put BEGIN_DATA_FORMAT, the fields and END_DATA_FORMAT first.`,
    cgatsDataNotBegun: (line: number) => `Line ${line}: END_DATA has no BEGIN_DATA. Add it.`,
    cgatsNoData: (line: number) =>
      `Line ${line}: the file has no data. It needs BEGIN_DATA_FORMAT, fields, END_DATA_FORMAT, BEGIN_DATA, sets and END_DATA, in this order.`,
    cgatsCutOff: (line: number, part: string) =>
      `Line ${line}: the file ends inside its ${part}, so it may be cut off. Export it again.`,
    cgatsCount: (line: number, keyword: string, stated: string, found: number) =>
      `Line ${line}: ${keyword} is ${stated}, but the file has ${found}. The file may be cut off; export it again.`,
    cgatsTooMany: (line: number, what: 'fields' | 'keywords' | 'tables', most: number) =>
      `Line ${line}: the file has more than ${most} ${what}. Remove those that finishes do not need.`,
    cgatsLongWord: (line: number, length: number, most: number) =>
      `Line ${line}: a word has ${length} characters; ${most} are allowed. Check the file's quotation marks and line ends.`,
    cgatsOpenQuote: (line: number) => `Line ${line}: a quotation mark has no partner on its line. Close it.`,
    cgatsTokenCount: (fields: number, tokens: number) =>
      `The data format has ${fields} fields, but this set has ${tokens}. Put quotation marks around text with spaces.`,
    notCxf: (name: string, namespace: string) =>
      `The XML is not CxF3: its outer element is “${name}” of “${namespace}”. Export the file as CxF3.`,
    xmlDeclaration: (kind: string) => `The XML contains a ${kind} declaration, which is not supported. Remove it.`,
    xmlTooManyElements: (most: number) => `The XML has more than ${most} elements. Split the file.`,
    xmlRoots: (count: number) => `The XML has ${count} outer elements instead of one. Export the file again.`,
    xmlTooDeep: 'The XML is nested too deeply or damaged. Export the file again.',
    xmlFault: (line: number, fault: string) => `The XML is damaged. Line ${line}: ${fault}. Export the file again.`,
    xmlEntity: (line: number, entity: string) =>
      `Near line ${line}, “${entity}” is not a valid character reference in XML. Correct it, or export the file again.`,
  },
  'text-encoding': {
    statedOtherwise: (charset: string) =>
      `The file is sent as ${charset}. Save it as UTF-8, or as UTF-16 with a byte order mark, and send it again.`,
    brokenUtf16: (encoding: string) =>
      `The file begins as ${encoding} but then contains invalid bytes. Save it as UTF-8, or as UTF-16 with a byte order mark, and send it again.`,
    notUtf8: 'The file is not UTF-8. Save it as UTF-8, or as UTF-16 with a byte order mark, and send it again.',
    zeroBytes:
      'The file contains zero bytes, which suggests UTF-16 without a byte order mark. Save it as UTF-8, or as UTF-16 with a byte order mark, and send it again.',
    xmlDeclaresAnother: (encoding: string) =>
      `The XML declares the encoding ${encoding} but is not in it. Save the file as UTF-8 and send it again.`,
  },
  'cell-formula': (column: string, cell: string) =>
    `The column ${column} contains “${cell}”, which a spreadsheet would run as a formula. Use text that does not begin with =, +, -, @ or a tab.`,
  'colour-incomplete': {
    missingCells: (keys: readonly string[], missing: readonly string[]) =>
      `This row has no ${missing.join(' and no ')}. Give all three: ${keys.join(', ')}.`,
    cxfMissingSpecification: (element: string, id: string) =>
      `${element} refers to the colour specification “${id}”, which is not in the file. Export the file again with its specifications.`,
    cxfMissingValue: (element: string, name: string, names: readonly string[]) =>
      `${element} has no ${name}. Give ${names.join(', ')}.`,
    cxfSrgb: (codes: readonly number[]) =>
      `ColorSRGB is ${codes.join(', ')}. Its channels have to be whole numbers from 0 to 255.`,
  },
  'duplicate-code': (code: string, lines: string) => `The code “${code}” occurs on lines ${lines}. Keep one of them.`,
  'invalid-field': {
    noFamily: (families: readonly string[]) =>
      `The family of this finish is missing. Add a family column or an article, or choose a family for the whole file: ${families.join(', ')}.`,
    unknownFamily: (family: string, families: readonly string[]) =>
      `There is no family “${family}”. Use one of ${families.join(', ')}.`,
    tooManyTags: (count: number, max: number) => `The finish has ${count} tags; ${max} are allowed. Remove some.`,
    tagTooLong: (max: number) => `A tag has more than ${max} characters. Shorten it.`,
    supplierTooLong: (max: number) => `The supplier has more than ${max} characters. Shorten it.`,
    noteTooLong: (max: number) => `The note has more than ${max} characters. Shorten it.`,
    displayNotHex: (text: string) =>
      `“${text}” is not an sRGB hex colour for screens. Use # and six digits or letters from a to f.`,
  },
  'unknown-article': (code: string) => `There is no article “${code}”. Create it first, or leave the article out.`,
} as const satisfies ProblemTexts;
