import { linearToHex } from '../../../../server/core/colour/srgb.ts';
import type { Survey, SurveyedMaterial } from '../../../../server/core/product/survey.ts';
import { formatBytes } from '../../../format.ts';
import { Chip } from '../../../parts/picture.tsx';
import { contentsTexts } from '../../../texts/product-contents.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import {
  describeFile,
  describeMap,
  isColour,
  listCoverage,
  listFactors,
  listFacts,
  listUvFacts,
  nameMap,
} from './describe-contents.ts';

const texts = contentsTexts;

/** The measured contents of the model, folded at first. */
export function ContentsSection({ model }: { readonly model: ProductModel }) {
  const survey = model.survey.value;
  if (!survey) return null;
  const { counts } = survey;
  return (
    <section>
      <details class="fold">
        <summary>
          <h2>{texts.heading}</h2>{' '}
          <span class="small soft">
            {texts.summary(counts.materials, counts.triangles, counts.draws, counts.pieces, formatBytes(survey.bytes))}
          </span>
        </summary>
        <MaterialTable survey={survey} />
        <div class="contents">
          <dl class="listed">
            {listFacts(survey, units.value).map(([name, value]) => (
              <div key={name}>
                <dt>{name}</dt>
                <dd>{value}</dd>
              </div>
            ))}
          </dl>
          <FileSizeTable survey={survey} />
        </div>
      </details>
    </section>
  );
}

/** The visible materials: their coverage, maps, factors and UVs. */
function MaterialTable({ survey }: { readonly survey: Survey }) {
  const shown = survey.materials.filter(({ primitives }) => primitives > 0);
  return (
    <div class="scroll">
      <table class="materials">
        <thead>
          <tr>
            <th scope="col">{texts.columns.material}</th>
            <th scope="col">{texts.columns.covers}</th>
            <th scope="col">{texts.columns.maps}</th>
            <th scope="col">{texts.columns.factors}</th>
            <th scope="col">{texts.columns.uvs}</th>
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
        {material.name || texts.unnamedMaterial(material.index)}
      </th>
      <td>
        <Lines of={listCoverage(material)} />
      </td>
      <td>
        {material.maps.length === 0 && texts.noMaps}
        {material.maps.map((map) => {
          const image = survey.images.find(({ index }) => index === map.image);
          return (
            <p key={map.use}>
              {texts.map(nameMap(map), describeMap(map, image))}
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

/** Causes listed one by one; the rest is summed. */
const LISTED = 12;

/** The file size by cause, largest first. */
function FileSizeTable({ survey }: { readonly survey: Survey }) {
  const causes = listCauses(survey);
  const most = causes[0]?.bytes ?? 1;
  return (
    <table class="weight">
      <caption>{texts.fileSize(formatBytes(survey.bytes))}</caption>
      <thead class="unseen">
        <tr>
          <th scope="col">{texts.causeColumns.cause}</th>
          <th scope="col">{texts.causeColumns.bytes}</th>
          <th scope="col">{texts.causeColumns.share}</th>
        </tr>
      </thead>
      <tbody>
        {causes.map(({ cause, bytes }) => (
          <tr key={cause}>
            <th scope="row">{cause}</th>
            <td class="figure">{formatBytes(bytes)}</td>
            <td class="figure soft">{formatShare(bytes / survey.bytes)}</td>
            <td class="bar" aria-hidden="true">
              <span style={{ width: `${(bytes / most) * 100}%` }} />
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** The largest causes, and the sum of all others. */
export function listCauses({ weight, bytes }: Survey): { readonly cause: string; readonly bytes: number }[] {
  const causes = weight.causes.length > 0 ? weight.causes : listKinds(weight);
  const listed = causes.slice(0, LISTED);
  const rest = causes.slice(LISTED).reduce((sum, cause) => sum + cause.bytes, 0);
  return [...listed, ...(rest > 0 ? [{ cause: texts.causes.rest, bytes: Math.min(rest, bytes) }] : [])];
}

const listKinds = ({ json, images, geometry }: Survey['weight']) =>
  [
    { cause: texts.causes.geometry, bytes: geometry },
    { cause: texts.causes.images, bytes: images },
    { cause: texts.causes.json, bytes: json },
  ].sort((a, b) => b.bytes - a.bytes);

const formatShare = (share: number) => (share < 0.01 ? texts.under1Percent : `${Math.round(share * 100)} %`);
