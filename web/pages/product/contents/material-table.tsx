import { linearToHex } from '../../../../server/core/colour/srgb.ts';
import type { Survey, SurveyedMaterial } from '../../../../server/core/product/survey.ts';
import { Chip } from '../../../parts/chip.tsx';
import { describeFile, describeMap, isColour, nameMap } from './describe-map.ts';
import { listCover, listFactors, listUvFacts } from './describe-material.ts';

/** Every material the scene shows: what it covers, what is in its maps, and how its UVs lie. */
export function MaterialTable({ survey }: { readonly survey: Survey }) {
  const shown = survey.materials.filter(({ primitives }) => primitives > 0);
  return (
    <div class="scroll">
      <table class="materials">
        <thead>
          <tr>
            <th scope="col">Material</th>
            <th scope="col">Covers</th>
            <th scope="col">Maps, and what is in them</th>
            <th scope="col">Factors</th>
            <th scope="col">UVs</th>
          </tr>
        </thead>
        <tbody>
          {shown.map((material) => (
            <MaterialRow key={material.index} material={material} survey={survey} />
          ))}
        </tbody>
      </table>
    </div>
  );
}

function MaterialRow({ material, survey }: { readonly material: SurveyedMaterial; readonly survey: Survey }) {
  const [r, g, b] = material.factors.baseColor;
  return (
    <tr>
      <th scope="row" class="strong">
        {material.name || `material ${material.index}, without a name`}
      </th>
      <td>
        <Lines of={listCover(material)} />
      </td>
      <td>
        {material.maps.length === 0 && 'none'}
        {material.maps.map((map) => {
          const image = survey.images.find(({ index }) => index === map.image);
          return (
            <p key={map.use}>
              {nameMap(map)}: {describeMap(map, image)}{' '}
              {isColour(map) && image?.content && <Chip hex={image.content.colour.hex} />}
              {image && <small class="soft file">{describeFile(image)}</small>}
            </p>
          );
        })}
      </td>
      <td>
        <p>
          <Chip hex={linearToHex([r, g, b])} /> <span class="code">{linearToHex([r, g, b])}</span>
        </p>
        <Lines of={listFactors(material)} />
      </td>
      <td>
        <Lines of={listUvFacts(material)} />
      </td>
    </tr>
  );
}

function Lines({ of }: { readonly of: readonly string[] }) {
  return (
    <>
      {of.map((line) => (
        <p key={line}>{line}</p>
      ))}
    </>
  );
}
