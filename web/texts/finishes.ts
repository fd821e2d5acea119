import { count } from '../../server/core/texts/format-text.ts';

/** Texts of the page of finishes. */
export const finishesTexts = {
  heading: 'Finishes',
  summary: (n: number) =>
    `${count(n, 'finish', 'finishes')}. The sphere shows the finish in the studio light, the chip its flat colour.`,
  importFiles: 'Import measurement files',
  add: 'Add finish',
  empty: 'There are no finishes yet. Add the first one, or import a measurement file of a maker.',
  added: (name: string) => `${name} is added.`,
  addNext: 'Enter the next finish below, or close the form.',
  showAdded: 'Show it in the list',
  codeTaken: (code: string, name: string) => `The code ${code} already belongs to “${name}”. Choose a different code.`,

  search: {
    label: 'Search by words, or by a colour such as #2f5d73',
    noMatch: 'No finish matches all of these words.',
    nearestTo: (hex: string) => `Nearest to ${hex}`,
  },

  // a finish in the list
  sample: {
    onSphere: (name: string) => `${name} on a sphere`,
    specified: 'Specified colour',
    delivered: 'Converted and delivered colour',
    surface: 'Surface',
    roughness: (value: number) => `roughness ${value}`,
    metal: 'metal',
    grade: 'Grade',
    gradeOf: (grade: string | undefined, line: string | null) =>
      `${grade === undefined ? 'no grade' : `grade ${grade}`}${line === null ? '' : ` in ${line}`}`,
    away: (deltaE: string) => `ΔE00 ${deltaE} away`,
    outOfGamut: (deltaE: string) => `outside sRGB, shown colour differs by ΔE00 ${deltaE}`,
  },

  // form
  form: {
    material: 'Material',
    materials: {
      supplied: 'Supplied with the model (colour and surface only describe it)',
      made: 'Made from colour and surface (replaces the supplied material)',
    },
    colour: 'Colour',
    surface: 'Gloss and surface',
    maps: 'Maps',
    trade: 'Trade details',
    screenColour: 'Approved screen colour, sRGB',
    screenDistance: (deltaE: string) =>
      `The approved screen colour differs from the specified colour by ΔE00 ${deltaE}. Deliveries use the specified colour.`,
    save: 'Save finish',
    delete: 'Delete finish',
    duplicate: 'Duplicate',
    newName: 'New finish',
    codeRule:
      'The code may contain letters, digits, dots, underscores and hyphens. It must begin with a letter or a digit.',
    nameRule: (max: number) => `Enter a name of 1–${max} characters.`,
  },

  colour: {
    source: 'Colour source',
    sources: { specification: 'Specified colour', map: 'Mean of the colour map' },
    meanOfMap: (hex: string | null) => `The colour is the mean of the colour map${hex === null ? '' : `: ${hex}`}.`,
    givenAs: 'Colour given as',
    ways: { hex: 'sRGB hex', lab: 'CIE Lab, measured', xyz: 'CIE XYZ, measured', spectrum: 'Spectrum, measured' },
    hex: 'Colour, sRGB hex',
    viewing: 'Illuminant and observer',
    geometry: 'Measuring geometry',
    startNm: 'First wavelength, nm',
    stepNm: 'Wavelength step, nm',
    reflectance: 'Reflectance for each step, 0–1',
    pasteHint: (axes: string) => `To enter all three at once, paste ${axes} into any of these fields.`,
    hexRule: 'Enter the colour as # and six hexadecimal digits, such as #2f5d73.',
    labRule: 'Enter three numbers for Lab: L* from 0 to 100, then a* and b*, which may be negative.',
    xyzRule: 'Enter three numbers for XYZ. The perfect white has Y = 100.',
    spectrumRule: 'Enter one reflectance from 0 to 1 for each wavelength step.',
  },

  // the table of bare metals
  metals: {
    metal: 'Compare with bare metal',
    reflectance: (shares: string, source: string) => `Reflectance ${shares} (linear red, green, blue; ${source}).`,
    second: (shares: string) => `A second source states ${shares}.`,
    clamped: (channels: readonly string[]) => `The published ${channels.join(' and ')} exceeds 1; Dyeworks uses 1.`,
    useColour: (hex: string) => `Use its colour, ${hex}`,
  },

  swatch: {
    heading: 'Swatch',
    kind: 'Kind',
    size: 'Size',
    download: 'Download PNG',
  },

  compare: {
    heading: 'Comparison',
    tick: 'Compare',
    chooseAnother: (name: string) => `${name}. Tick another finish to compare it with.`,
    chosen: (n: number) => `${count(n, 'finish', 'finishes')} to compare.`,
    compare: 'Compare side by side',
    clear: 'Clear',
    end: 'End comparison',
    specified: 'Specified colour',
    lab: 'CIE Lab, D65, 2°',
    delivered: 'Delivered colour',
    gloss: 'Gloss',
    roughness: 'Roughness',
    distanceFrom: 'ΔE00 from',
  },

  geometries: {
    'di:8': 'di:8, sphere, specular included',
    'de:8': 'de:8, sphere, specular excluded',
    '45:0': '45:0',
  },

  surface: {
    gu60: 'Gloss at 60°, GU (ISO 2813)',
    gu20: 'Gloss at 20°, GU (high gloss)',
    gu85: 'Gloss at 85°, GU (matt)',
    roughness: 'Roughness, 0–1',
    clearcoat: 'Clear coat, 0–1',
    clearcoatRoughness: 'Clear coat roughness, 0–1',
    ior: 'Index of refraction',
    metal: 'Metal',
    fromFamily: 'From the family',
    fromArticle: 'From the article or family',
    yes: 'Yes',
    no: 'No',
    familyDefault: (note: string) => `Default of the family: ${note}.`,
    roughnessRule: 'Roughness must be between 0 (mirror) and 1 (chalk).',
    glossRule: 'Gloss must be 0 GU or more. Black glass reads 100 GU.',
    clearcoatRule: 'Clear coat and its roughness must be between 0 and 1. Enter 0 for no clear coat.',
    iorRule: 'The index of refraction must be between 1 and 2.5. Lacquers have about 1.5.',
    repeatRule: 'Repeat width and height must be greater than 0 mm.',
    directionRule: 'The direction must be between −360° and 360°, counter-clockwise.',
    repeatIncomplete: 'A repeat needs a width and a height. Enter both, or clear both and the direction.',
  },

  // a gloss reading as a roughness, and the reverse
  gloss: {
    surfaceLayer: 'the surface',
    coatLayer: 'the clear coat',
    units: (gu: number) => `${gu} GU`,
    toRoughness: (reading: string, angle: number, layer: string, roughness: string, fromArticle: boolean) =>
      `${fromArticle ? 'The article’s reading of ' : ''}${reading} at ${angle}° gives ${layer} a roughness of ${roughness}.`,
    toleranceAsRoughness: (toleranceGu: number, smooth: string, rough: string) =>
      `The usual tolerance is ±${toleranceGu} GU at 60° (Qualicoat, as quoted in the trade), which is a roughness of ${smooth}–${rough}.`,
    toReading: (layer: string, roughness: string, from: 'finish' | 'article' | 'family', reading: string) =>
      `The roughness of ${layer} is ${roughness}${from === 'finish' ? '' : `, from the ${from}`}. A meter reads ${reading} at 60°.`,
    tolerance: (toleranceGu: number) =>
      `The usual tolerance is ±${toleranceGu} GU at 60° (Qualicoat, as quoted in the trade).`,
    betterAngle: (angle: number) =>
      `Readings at ${angle}° distinguish this gloss better (ASTM D523). Add one if you have it.`,
    overridden: (layer: string) =>
      `The roughness entered for ${layer} overrides the gloss reading. Clear it to use the reading.`,
    notApplicable: 'Gloss readings do not apply to this surface.',
  },

  trade: {
    supplier: 'Supplier',
    tags: 'Tags, separated by commas',
    system: 'Colour system',
    systemCode: 'Code in the colour system',
    texture: 'Texture name',
    note: 'Note',
    names: 'Translated names',
    language: 'Language, such as de',
    companions: 'Companions',
    position: 'Position',
    companionCode: 'Finish code',
    cell: (column: string, row: number) => `${column}, row ${row}`,
    languageRule: (given: string) =>
      `“${given}” is not a language code. Use a code such as de, fr or pt-BR, and enter the name next to it.`,
    nameRule: (language: string, max: number) => `The name in ${language} must have 1–${max} characters.`,
    duplicate: (given: string) => `“${given}” is in two rows. Remove one of them.`,
    screenColourRule: 'Enter the approved screen colour as # and six hexadecimal digits, such as #2f5d73.',
    tagRule: (max: number) => `A tag must have at most ${count(max, 'character')}. Separate tags with commas.`,
    companionRule: (given: string) =>
      `“${given}” is not a companion. Enter the key of a position, such as piping, and the code of the finish that follows there.`,
  },

  maps: {
    names: { colour: 'Colour map', normal: 'Normal map', roughness: 'Roughness map' },
    provided: (article: string) => `The article ${article} provides:`,
    ownImage: 'own image',
    fromArticle: 'from the article',
    none: 'none',
    chooseImage: 'Choose image',
    replaceImage: 'Replace image',
    removeImage: 'Remove image',
    useArticle: 'Use the article’s image',
    forMap: (map: string) => `for the ${map.toLowerCase()}`,
    file: (map: string) => `Image file for the ${map.toLowerCase()}`,
    noFindings: 'No findings.',
    repeatWidth: 'Repeat width, mm',
    repeatHeight: 'Repeat height, mm',
    direction: 'Direction, degrees',
    noRepeat: 'Add a map to see its repeat.',
    repeatSize: (width: string, height: string) => `${width} × ${height} mm`,
    repeatLabel: (size: string, degrees: string) => `One repeat of ${size}, direction ${degrees}°`,
    repeatCaption: (size: string, degrees: string) => `One repeat, ${size}, turned ${degrees}° counter-clockwise.`,
    quarterTurns: (asked: string) =>
      `The direction of ${asked}° is rounded to a quarter turn, because the repeat is not square.`,
    repeatKey: 'The arrow points along the height of the map. The rulers are in mm.',
  },

  // properties that an article gives to its finishes
  article: {
    roughness: (value: number) => `roughness ${value}`,
    gloss: (gu: number, angle: number) => `${gu} GU at ${angle}°`,
    clearcoat: (value: number) => `clear coat ${value}`,
    metal: 'metal',
    notMetal: 'not a metal',
    repeat: (widthMm: number, heightMm: number, degrees: number) =>
      `repeat ${widthMm} × ${heightMm} mm, direction ${degrees}°`,
    threads: (perCm: number) => `${count(perCm, 'thread')} per cm`,
    companion: (finish: string, position: string) => `${finish} on ${position}`,
    companions: (companions: readonly string[]) =>
      `${companions.length === 1 ? 'Companion' : 'Companions'}: ${companions.join(', ')}.`,
  },

  // preview beside the form
  draft: {
    specified: 'Specified',
    delivered: 'Delivered',
    screenColour: 'Screen colour',
    notMeasured: 'not measured',
    lastValid: 'The preview shows the last valid values.',
    live: 'Live preview of the finish on a sphere',
    stored: 'Stored version.',
    storedPicture: (name: string) => `${name} on a sphere, stored version`,
  },

  distance: {
    supplied: 'Deliveries use the supplied material unchanged.',
    notMeasured: 'The delivered colour is not measured yet.',
    verdict: (deltaE: string, within: boolean | null) =>
      `ΔE00 ${deltaE} between specified and delivered${
        within === null ? '' : `, ${within ? 'within' : 'outside'} the tolerance of the family`
      }.`,
    formulas: { ab: 'CIELAB ΔE*ab', 'cmc-2-1': 'CMC(2:1)', de2000: 'CIEDE2000' },
    judged: (formula: string, difference: string, limit: number | null, source: string) =>
      `${formula} ${difference}${limit === null ? '' : `, limit ${limit}`}: ${source}.`,
    estimated: (typicalDeltaE: number, worstDeltaE: number) =>
      `The specified colour is an estimate, usually within ΔE00 ${typicalDeltaE}, and within ${worstDeltaE} in 19 of 20 cases.`,
    outOfGamut: 'The specified colour is outside sRGB. The delivered colour is the nearest one in sRGB.',
    specularRemoved: 'The reading includes the specular reflection; Dyeworks has subtracted it.',
    multiplied: 'A factor brings the mean of the colour map to the specified colour.',
    brightened: (contrastPercent: number) =>
      `The delivered colour map is brighter${
        contrastPercent < 100 ? ` and has ${contrastPercent} % of its contrast` : ''
      }, so that its mean can match the specified colour.`,
  },

  uses: {
    heading: 'Uses',
    none: 'No uses. Changing or deleting this finish affects nothing else.',
    line: 'Line',
    schedule: 'Schedule',
    delivery: 'Delivery',
    companionOf: 'Companion of',
    variants: (n: number) => `, ${count(n, 'variant')}`,
    deliveryNumbers: (numbers: readonly number[]) => `, no. ${numbers.join(', ')}`,
    article: (article: string) => `article ${article}`,
    companion: (leader: string, positions: readonly string[]) => `${leader} on ${positions.join(', ')}`,
    notInRange: 'not in the range',
    optionAt: (positions: readonly string[]) => `option at ${positions.join(', ')}`,
    replaces: (finishes: readonly string[]) => `replaces ${finishes.join(', ')}`,
  },

  revisions: {
    heading: 'Revisions',
    yourName: 'Your name, recorded with each change',
    columns: { number: 'No.', colour: 'Colour', date: 'Date', person: 'Person', change: 'Change' },
    notStated: 'not stated',
    ways: {
      known: 'First recorded version',
      saved: 'Saved',
      imported: 'Imported from a file',
      'taken-in': 'Imported with a model',
      'article-changed': 'Article changed',
    },
    newFinish: (way: string) => `${way}, new finish`,
    deleted: 'Finish deleted. Later revisions belong to a new finish with the same code.',
    discontinued: (line: string, replacedBy: string | undefined) =>
      `Discontinued in line ${line}${replacedBy === undefined ? '' : `, replaced by ${replacedBy}`}.`,
    changed: (field: string, before: string, after: string) => `${field}: ${before} → ${after}`,
    added: (field: string, value: string) => `${field}: ${value} (added)`,
    removed: (field: string, value: string) => `${field}: removed, was ${value}`,
    fileChanged: (field: string, what: 'added' | 'replaced' | 'removed') => `${field}: ${what}`,
    ofArticle: (field: string) => `${field} of the article`,
    none: 'none',
    yes: 'yes',
    no: 'no',
    file: 'a file',
  },

  similar: {
    heading: 'Near-identical colours',
    find: 'Find pairs',
    hide: 'Hide pairs',
    intro: 'Finishes of the same family, article and gloss, with a difference below ΔE00',
    limit: 'Largest ΔE00',
    none: 'No pairs found.',
    similarFinish: 'Similar finish',
  },

  // names of the fields of a finish, in lists of changes
  fields: {
    article: 'article',
    clearcoat: 'clear coat',
    clearcoatRoughness: 'clear coat roughness',
    colour: 'colour',
    colourFrom: 'colour source',
    companions: 'companions',
    composition: 'composition',
    display: 'approved screen colour',
    'display.hex': 'approved screen colour',
    emissive: 'emission',
    family: 'family',
    gloss: 'gloss',
    'gloss.gu20': 'gloss at 20°',
    'gloss.gu60': 'gloss at 60°',
    'gloss.gu85': 'gloss at 85°',
    ior: 'index of refraction',
    maps: 'maps',
    'maps.colour': 'colour map',
    'maps.normal': 'normal map',
    'maps.roughness': 'roughness map',
    metalName: 'name of the metal',
    name: 'name',
    names: 'translated names',
    reference: 'colour system',
    'reference.code': 'code in the colour system',
    'reference.system': 'colour system',
    'reference.texture': 'texture name',
    supplied: 'supplied material',
    threadsPerCm: 'threads per cm',
    tile: 'repeat',
    'tile.grainDegrees': 'direction, degrees',
    'tile.heightMm': 'repeat height, mm',
    'tile.widthMm': 'repeat width, mm',
  },
} as const;
