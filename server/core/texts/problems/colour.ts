import type { ProblemTexts } from './problem-text.ts';

/** Texts about colours, spectra, gloss readings and what a finish says of its colour. */
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
      `The measuring geometry “${geometry}” is unknown. Use di:8 (reflection included), de:8 (reflection excluded) or 45:0, or leave it out.`,
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
