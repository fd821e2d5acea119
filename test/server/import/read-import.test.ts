import { describe, expect, it } from 'vitest';
import { planImport } from '../../../server/core/import/plan-import.ts';
import { writeExampleCsv } from '../../../server/core/import/read-import-csv.ts';
import { decodeText, readImport } from '../../../server/import/read-import.ts';
import { expectRefusal } from '../../support/refusal.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const read = (text: string, viewing = {}) => readImport(bytes(text), null, viewing);
const utf16 = (text: string, bigEndian: boolean) => {
  const swapped = Buffer.from(`\ufeff${text}`, 'utf16le');
  return bigEndian ? swapped.swap16() : swapped;
};

describe('encodings (Unicode, byte order marks; WHATWG Encoding names)', () => {
  it.each([
    ['UTF-8', bytes('Grün')],
    ['UTF-8 with a mark', bytes('\ufeffGrün')],
    ['UTF-16 LE', utf16('Grün', false)],
    ['UTF-16 BE', utf16('Grün', true)],
  ])('reads %s', (_, given) => {
    expect(decodeText(given)).toBe('Grün');
  });

  it.each<[string, Uint8Array, string | null]>([
    ['Latin-1', Buffer.from('Grün', 'latin1'), null],
    ['UTF-16 without a mark', Buffer.from('Green', 'utf16le'), null],
    ['another charset in the media type', bytes('Green'), 'iso-8859-1'],
    ['half a UTF-16 letter', utf16('Grün', false).subarray(0, 7), null],
  ])('refuses %s', async (_, given, charset) => {
    await expectRefusal(() => decodeText(given, charset), 'text-encoding');
  });
});

describe('CSV', () => {
  it.each([
    ['comma', 'code,name,l,a,b\nP-1,"Tarn, deep",38.1,-8.2,-15.4\n'],
    ['semicolon and decimal comma', 'code;name;l;a;b\r\nP-1;Tarn, deep;38,1;-8,2;-15,4\r\n'],
    ['tab', 'code\tname\tl\ta\tb\nP-1\tTarn, deep\t38.1\t-8.2\t-15.4'],
  ])('separated by %s', (_, text) => {
    expect(read(text).rows).toEqual([
      { line: 2, code: 'P-1', name: 'Tarn, deep', colour: { lab: [38.1, -8.2, -15.4] } },
    ]);
  });

  it('counts lines as an editor does, over empty ones and breaks inside quotes', () => {
    const { rows } = read('code,name,note\n\nA,one,"two\nlines"\n,,\nB,two,x\nC,three,y');
    expect(rows.map(({ code, line }) => [code, line])).toEqual([
      ['A', 3],
      ['B', 6],
      ['C', 7],
    ]);
  });

  it('refuses an open quotation mark', async () => {
    await expectRefusal(() => read('code,name\nA,"one\nB,two\n'), 'import-unreadable');
  });
});

it('reads the example with the header, and would import all of it', () => {
  const reading = read(writeExampleCsv());
  expect(reading.refused).toEqual([]);
  const { created, refused } = planImport(reading, { finishes: [], articles: [] }, {});
  expect(refused).toEqual([]);
  expect(created.map(({ finish, estimated }) => [finish, estimated !== null])).toEqual([
    ['EX-10', false],
    ['EX-20', true],
    ['EX-30', false],
  ]);
});

it('distinguishes CGATS from CSV by its beginning', () => {
  expect(
    read(
      '\ufeffCGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\nA 1 2 3\nEND_DATA',
    ),
  ).toMatchObject({ format: 'cgats', rows: [{ line: 6, code: 'A', colour: { xyz: [1, 2, 3] } }] });
});

// Elements and enumerations of CxF3 core (ISO 17972-1) as public files have them; values invented.
const SPECTRUM = Array.from({ length: 31 }, (_, i) => (0.05 + i / 100).toFixed(2)).join(' ');
const cxf = (objects: string, head = '<?xml version="1.0" encoding="UTF-8"?>') => `${head}
<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core">
  <cc:Resources>
    <cc:ObjectCollection>
${objects}
    </cc:ObjectCollection>
    <cc:ColorSpecificationCollection>
      <cc:ColorSpecification Id="S">
        <cc:TristimulusSpec><cc:Illuminant>D65</cc:Illuminant><cc:Observer>10_Degree</cc:Observer></cc:TristimulusSpec>
        <cc:MeasurementSpec>
          <cc:MeasurementType>Spectrum_Reflectance</cc:MeasurementType>
          <cc:GeometryChoice><cc:SphereGeometry>Specular_Included</cc:SphereGeometry></cc:GeometryChoice>
          <cc:WavelengthRange StartWL="400" Increment="10"/>
        </cc:MeasurementSpec>
      </cc:ColorSpecification>
      <cc:ColorSpecification Id="T">
        <cc:TristimulusSpec><cc:Illuminant>D50</cc:Illuminant><cc:Observer>2_Degree</cc:Observer></cc:TristimulusSpec>
        <cc:MeasurementSpec><cc:GeometryChoice><cc:SingleAngle>
          <cc:SingleAngleConfiguration>Annular</cc:SingleAngleConfiguration>
          <cc:IlluminationAngle>45</cc:IlluminationAngle><cc:MeasurementAngle>0.0</cc:MeasurementAngle>
        </cc:SingleAngle></cc:GeometryChoice></cc:MeasurementSpec>
      </cc:ColorSpecification>
    </cc:ColorSpecificationCollection>
  </cc:Resources>
</cc:CxF>`;
const object = (id: string, values: string) =>
  `<cc:Object ObjectType="Standard" Name="Gr&#252;n &amp; ${id}" Id="${id}"><cc:ColorValues>${values}</cc:ColorValues></cc:Object>`;
const lab = (specification: string, l = '50') =>
  `<cc:ColorCIELab${specification}><cc:L>${l}</cc:L><cc:A>-10</cc:A><cc:B>20.5</cc:B></cc:ColorCIELab>`;

describe('CxF3', () => {
  it('reads spectra, Lab, XYZ and sRGB, each with its specification', () => {
    const { rows, refused } = read(
      cxf(
        [
          object(
            'A',
            `${lab(' ColorSpecification="T"')}<cc:ReflectanceSpectrum ColorSpecification="S">${SPECTRUM}</cc:ReflectanceSpectrum>`,
          ),
          object('B', lab(' ColorSpecification="T"')),
          object(
            'C',
            '<cc:ColorCIEXYZ ColorSpecification="S"><cc:X>1</cc:X><cc:Y>2</cc:Y><cc:Z>3</cc:Z></cc:ColorCIEXYZ>',
          ),
          object('D', '<cc:ColorSRGB><cc:R>47</cc:R><cc:G>93</cc:G><cc:B>115</cc:B></cc:ColorSRGB>'),
        ].join('\n'),
      ),
    );
    expect(refused).toEqual([]);
    expect(rows).toEqual([
      {
        line: 5,
        code: 'A',
        name: 'Grün & A',
        colour: { spectrum: { startNm: 400, stepNm: 10, values: SPECTRUM.split(' ').map(Number) }, geometry: 'di:8' },
      },
      {
        line: 6,
        code: 'B',
        name: 'Grün & B',
        colour: { lab: [50, -10, 20.5], illuminant: 'D50', observer: '2deg', geometry: '45:0' },
      },
      {
        line: 7,
        code: 'C',
        name: 'Grün & C',
        colour: { xyz: [1, 2, 3], illuminant: 'D65', observer: '10deg', geometry: 'di:8' },
      },
      { line: 8, code: 'D', name: 'Grün & D', colour: { hex: '#2f5d73' } },
    ]);
  });

  it('reports unreadable objects one by one', () => {
    const { rows, refused } = read(
      cxf(
        [
          object('A', lab(' ColorSpecification="missing"')),
          object('B', lab(' ColorSpecification="T"', 'NaN')),
          object('C', '<cc:ReflectanceSpectrum StartWL="400">0.1 0.2</cc:ReflectanceSpectrum>'),
          object('D', lab('')),
        ].join('\n'),
      ),
    );
    expect(refused).toMatchObject([
      { line: 5, finish: 'A', code: 'colour-incomplete' },
      { line: 6, finish: 'B', code: 'invalid-field' },
      { line: 7, finish: 'C', code: 'spectrum-unreadable' },
    ]);
    // without a specification nothing is assumed; the finish is refused when it is judged
    expect(rows).toMatchObject([{ code: 'D', colour: { lab: [50, -10, 20.5] } }]);
    expect(rows[0]!.colour.illuminant).toBeUndefined();
  });

  const good = cxf(object('A', lab(' ColorSpecification="T"')));
  // the first two: OWASP, XML external entities and the “billion laughs” expansion
  it.each([
    [
      'an external entity',
      good.replace('<cc:CxF', '<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]><cc:CxF').replace('50', '&e;'),
    ],
    [
      'entities of entities',
      good.replace('<cc:CxF', '<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]><cc:CxF').replace('50', '&b;'),
    ],
    ['a document type in lower case', good.replace('<cc:CxF', '<!doctype x><cc:CxF')],
    ['an entity nobody declared', good.replace('50', '&e;')],
    ['a tag left open', good.replace('</cc:L>', '')],
    ['its end cut off', good.slice(0, 700)],
    ['two outer elements', `${good}<more/>`],
    ['a hundred thousand levels', '<a>'.repeat(100_000) + '</a>'.repeat(100_000)],
    ['half a million elements', good.replace('<cc:CxF', `<cc:CxF>${'<a/>'.repeat(500_000)}</cc:CxF><cc:CxF`)],
    ['another root', good.replaceAll('cc:CxF', 'cc:CXF')],
    ['another namespace', good.replace('CxF3-core', 'CxF2')],
    ['no objects', cxf('')],
    ['nothing but a bracket', '<'],
  ])('refuses XML with %s', async (_, text) => {
    await expectRefusal(() => read(text), 'import-unreadable');
  });

  it('refuses XML that says it is Latin-1 and has letters beyond ASCII', async () => {
    const text = good.replace('UTF-8', 'ISO-8859-1').replace('&#252;', 'ü');
    await expectRefusal(() => read(text), 'text-encoding');
  });
});
