import type { GivenColour } from '../finish/read-finish.ts';
import { Problem } from '../problems.ts';
import { COLOUR_PROBLEMS, IMPORT_PROBLEMS } from '../texts/problems/finish.ts';
import {
  collectRows,
  type ImportReading,
  type MeasuredRow,
  readNumber,
  tidyViewing,
  type ViewingDefaults,
} from './measured-row.ts';

/** Namespace of the core of CxF3 (ISO 17972-1). */
const NAMESPACE = 'http://colorexchangeformat.com/CxF3-core';

type Specifications = ReadonlyMap<string, XmlElement>;

/**
 * Reads finishes from CxF3 (ISO 17972): each `Object` of `Resources/ObjectCollection` is one, its `Id` the code, its
 * `Name` the name. It takes the most complete of the `ColorValues`: the first reflectance spectrum, else Lab, else XYZ,
 * else sRGB. Illuminant, observer, geometry and wavelengths are in the `ColorSpecification` that the value refers to.
 * Names of elements are from public files and readers of the format, not from the text of the standard.
 * @throws Problem `import-unreadable`
 */
export function readCxf(root: XmlElement, viewing: ViewingDefaults): ImportReading {
  if (root.name !== 'CxF' || root.namespace !== NAMESPACE) {
    throw new Problem('import-unreadable', {
      detail: IMPORT_PROBLEMS['import-unreadable'].notCxf(root.name.slice(0, 40), root.namespace.slice(0, 80)),
      expected: `CxF of ${NAMESPACE}`,
      received: `${root.name.slice(0, 40)} of ${root.namespace.slice(0, 80)}`,
    });
  }
  const resources = findElement(root, 'Resources');
  const specifications: Specifications = new Map(
    findElement(resources, 'ColorSpecificationCollection')?.children.map((each) => [
      each.attributes.get('Id') ?? '',
      each,
    ]),
  );
  const objects = findElement(resources, 'ObjectCollection')?.children.filter(({ name }) => name === 'Object') ?? [];
  return collectRows(
    'cxf',
    objects,
    (object) => ({ line: object.line, finish: object.attributes.get('Id') ?? null }),
    (object) => readObject(object, specifications, viewing),
  );
}

function readObject(object: XmlElement, specifications: Specifications, viewing: ViewingDefaults): MeasuredRow {
  const code = object.attributes.get('Id') ?? '';
  const name = object.attributes.get('Name')?.trim();
  return {
    line: object.line,
    code,
    ...(name && { name }),
    colour: readValues(findElement(object, 'ColorValues'), specifications, viewing),
  };
}

function readValues(
  values: XmlElement | undefined,
  specifications: Specifications,
  defaults: ViewingDefaults,
): GivenColour {
  const spectrum = findElement(values, 'ReflectanceSpectrum');
  const three = findElement(values, 'ColorCIELab') ?? findElement(values, 'ColorCIEXYZ');
  const srgb = findElement(values, 'ColorSRGB');
  if (spectrum) {
    const specification = specify(spectrum, specifications);
    const { geometry } = readSpecification(specification, defaults);
    return { spectrum: readSpectrum(spectrum, specification), ...(geometry !== undefined && { geometry }) };
  }
  if (three) {
    const viewing = readSpecification(specify(three, specifications), defaults);
    return three.name === 'ColorCIELab'
      ? { lab: readThree(three, ['L', 'A', 'B']), ...viewing }
      : { xyz: readThree(three, ['X', 'Y', 'Z']), ...viewing };
  }
  return srgb ? { hex: readSrgb(srgb) } : {};
}

/** The specification that a value refers to. */
function specify(value: XmlElement, specifications: Specifications): XmlElement | undefined {
  const id = value.attributes.get('ColorSpecification');
  if (id === undefined || specifications.has(id)) return id === undefined ? undefined : specifications.get(id);
  throw new Problem('colour-incomplete', {
    detail: IMPORT_PROBLEMS['colour-incomplete'].cxfMissingSpecification(value.name, id.slice(0, 60)),
    expected: 'a ColorSpecification with this Id',
    received: id.slice(0, 60),
  });
}

function readSpecification(specification: XmlElement | undefined, defaults: ViewingDefaults): ViewingDefaults {
  const tristimulus = findElement(specification, 'TristimulusSpec');
  const illuminant = findElement(tristimulus, 'Illuminant')?.text;
  const observer = findElement(tristimulus, 'Observer')?.text;
  const geometry = readGeometry(findElement(specification, 'MeasurementSpec', 'GeometryChoice'));
  return tidyViewing(
    { ...(illuminant && { illuminant }), ...(observer && { observer }), ...(geometry && { geometry }) },
    defaults,
  );
}

/** `45:0`, or Specular_Included and similar as the sphere states it; undefined when nothing is stated. */
function readGeometry(choice: XmlElement | undefined): string | undefined {
  const single = findElement(choice, 'SingleAngle');
  if (single) {
    const [illumination, measurement] = ['IlluminationAngle', 'MeasurementAngle'].map((name) =>
      Number.parseFloat(findElement(single, name)?.text ?? ''),
    );
    return `${illumination}:${measurement}`;
  }
  // Writers name the sphere differently. They state its configuration in it or in an element of its own.
  const sphere = findElement(choice, 'SphereGeometry') ?? findElement(choice, 'IntegratingSphere');
  return sphere ? sphere.text || sphere.children[0]?.text : choice?.children[0]?.name;
}

function readSpectrum(spectrum: XmlElement, specification: XmlElement | undefined): GivenColour['spectrum'] {
  const range = findElement(specification, 'MeasurementSpec', 'WavelengthRange');
  const [startNm, stepNm] = ['StartWL', 'Increment'].map((name) => {
    const text = spectrum.attributes.get(name) ?? range?.attributes.get(name);
    if (text !== undefined) return readNumber(text.trim(), name);
    throw new Problem('spectrum-unreadable', {
      detail: COLOUR_PROBLEMS['spectrum-unreadable'].missingField(name),
      expected: ['StartWL', 'Increment'],
      where: '/colour/spectrum',
    });
  });
  const values = spectrum.text.split(/\s+/).filter((part) => part !== '');
  return {
    startNm: startNm!,
    stepNm: stepNm!,
    values: values.map((value) => readNumber(value, 'ReflectanceSpectrum')),
  };
}

function readThree(value: XmlElement, names: readonly string[]): number[] {
  return names.map((name) => {
    const text = findElement(value, name)?.text;
    if (text) return readNumber(text, name);
    throw new Problem('colour-incomplete', {
      detail: IMPORT_PROBLEMS['colour-incomplete'].cxfMissingValue(value.name, name, names),
      expected: names,
      where: '/colour',
    });
  });
}

/** Code values 0–255. */
function readSrgb(value: XmlElement): string {
  const codes = readThree(value, ['R', 'G', 'B']);
  if (codes.every((code) => Number.isInteger(code) && code >= 0 && code <= 255)) {
    return `#${codes.map((code) => code.toString(16).padStart(2, '0')).join('')}`;
  }
  throw new Problem('colour-incomplete', {
    detail: IMPORT_PROBLEMS['colour-incomplete'].cxfSrgb(codes),
    expected: [0, 255],
    received: codes,
    where: '/colour',
  });
}

/** An element of a parsed XML document; names are without their prefix. */
export interface XmlElement {
  readonly name: string;
  /** Namespace of the element, by its prefix; empty when it has none. */
  readonly namespace: string;
  readonly attributes: ReadonlyMap<string, string>;
  readonly children: readonly XmlElement[];
  /** The element's own text, with all pieces joined, without white space around it. */
  readonly text: string;
  /** From 1. */
  readonly line: number;
}

/** Descends by names and takes the first element of each; undefined where one is missing. */
function findElement(from: XmlElement | undefined, ...names: readonly string[]): XmlElement | undefined {
  return names.reduce<XmlElement | undefined>(
    (element, name) => element?.children.find((child) => child.name === name),
    from,
  );
}
