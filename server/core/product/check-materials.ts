import { NAME_LENGTH } from '../codes.ts';
import { labelMaterial, PLACES } from '../texts/format-text.ts';
import { checkMetal } from './check-metal.ts';
import { type Finding, makeFinding } from './finding.ts';
import { type ModelFacts, pointerOf } from './model-facts.ts';
import type { SurveyedMaterial } from './survey.ts';

/** Checks names, metalness, animated properties and vertex colours of the materials that draw anything. */
export function checkMaterials(facts: ModelFacts): Finding[] {
  return [...checkNames(facts), ...checkMetal(facts), ...checkAnimated(facts), ...checkVertexColours(facts)];
}

function checkAnimated({ drawn }: ModelFacts): Finding[] {
  return drawn
    .filter((material) => material.animated)
    .map((material) =>
      makeFinding(
        'animated-material',
        { label: labelMaterial(material) },
        {
          where: pointerOf(material),
          place: PLACES.material(material),
          seen: true,
          expected: false,
        },
      ),
    );
}

function checkVertexColours({ survey, fixed }: ModelFacts): Finding[] {
  const tinted = survey.primitives.filter(
    (primitive) => primitive.hasColours && primitive.uses > 0 && !fixed.has(primitive.material),
  );
  const [first] = tinted;
  if (!first) return [];
  const material = first.material === null ? undefined : survey.materials[first.material];
  return [
    makeFinding(
      'vertex-colours-tint',
      { primitives: tinted.length },
      {
        where: `/meshes/${first.mesh}/primitives/${first.primitive}/attributes`,
        place: material ? PLACES.material(material) : PLACES.primitives(tinted.length),
        seen: tinted.length,
        expected: 0,
      },
    ),
  ];
}

/**
 * Finds materials without a name of their own. Dyeworks finds slots in the next export by the material's name. Proposed
 * names come from the nodes that use the material, and differ from all other names in the model.
 */
export function checkNames({ survey, drawn }: ModelFacts): Finding[] {
  const taken = new Set(survey.materials.map(({ name }) => fold(name)));
  const propose = (material: SurveyedMaterial) => ({
    from: pointerOf(material),
    to: proposeName(material, taken),
  });
  const findings: Finding[] = [];
  for (const material of drawn.filter(({ name }) => name.trim() === '')) {
    const name = propose(material);
    findings.push(
      makeFinding(
        'unnamed-material',
        { proposal: name.to },
        {
          where: pointerOf(material),
          place: PLACES.material(material),
          seen: '',
          expected: 'a name of its own',
          repairs: [{ repair: 'rename-materials', names: [name] }],
        },
      ),
    );
  }
  for (const twins of groupByName(drawn)) {
    const [first, ...others] = twins as [SurveyedMaterial, ...SurveyedMaterial[]];
    const names = others.map(propose);
    findings.push(
      makeFinding(
        'duplicate-material-name',
        { materials: twins.length, label: labelMaterial(first), names: names.map(({ to }) => to) },
        {
          where: pointerOf(others[0]!),
          place: PLACES.sameName(twins.map(({ index }) => index)),
          seen: twins.length,
          expected: 1,
          repairs: [{ repair: 'rename-materials', names }],
        },
      ),
    );
  }
  return findings;
}

function groupByName(materials: readonly SurveyedMaterial[]): SurveyedMaterial[][] {
  const groups = new Map<string, SurveyedMaterial[]>();
  for (const material of materials) {
    if (material.name.trim() === '') continue;
    groups.set(material.name, [...(groups.get(material.name) ?? []), material]);
  }
  return [...groups.values()].filter((group) => group.length > 1);
}

/** Reserves the name, so that the next proposal differs. */
function proposeName(material: SurveyedMaterial, taken: Set<string>): string {
  const own = clean(material.name);
  const part = clean(nameOfParts(material.nodes));
  const base = own && part ? `${own} ${part}` : own || part || 'Material';
  for (let n = 1; ; n++) {
    const suffix = n === 1 ? '' : ` ${n}`;
    const name = `${[...base]
      .slice(0, NAME_LENGTH.max - suffix.length)
      .join('')
      .trim()}${suffix}`;
    if (taken.has(fold(name))) continue;
    taken.add(fold(name));
    return name;
  }
}

/** The common start of several node names (“Leg.001”, “Leg.002” give “Leg”), or else the first meaningful name. */
function nameOfParts(nodes: readonly string[]): string {
  const telling = nodes.filter((name) => !/^(node|mesh|object|root|scene|geo|geometry)?[\s_.-]*\d*$/i.test(name));
  const [first, ...others] = telling;
  if (first === undefined) return '';
  let shared = first;
  for (const name of others) {
    while (!name.startsWith(shared)) shared = shared.slice(0, -1);
  }
  const bare = trimNumber(shared);
  return bare.length >= 3 ? bare : trimNumber(first);
}

const trimNumber = (name: string) => name.replace(/[\s_.-]*\d*[\s_.-]*$/, '');

function clean(name: string): string {
  return name
    .normalize('NFC')
    .replace(/[\p{Cc}_]+/gu, ' ')
    .replace(/^\/+/, '')
    .trim();
}

const fold = (name: string) => name.normalize('NFC').trim().toLowerCase();
