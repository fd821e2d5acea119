import type { CredentialsAnswer } from '../../../server/http/contracts/access.ts';
import { formatDate } from '../../format.ts';
import { accessTexts } from '../../texts/access.ts';

interface ListProps {
  readonly credentials: CredentialsAnswer;
  /** Gets the part of the address after the person, and deletes it. */
  readonly onDelete: (path: string) => void;
}

/** The sessions of a person. */
export function SessionList({ credentials: { sessions }, onDelete }: ListProps) {
  const texts = accessTexts.sessions;
  return (
    <section>
      <h2>{texts.heading}</h2>
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">{texts.browser}</th>
              <th scope="col">{texts.address}</th>
              <th scope="col">{texts.used}</th>
              <th />
            </tr>
          </thead>
          <tbody>
            {sessions.map(({ id, browser, address, usedAt, isThis }) => (
              <tr key={id}>
                <td title={browser}>{describeBrowser(browser)}</td>
                <td>{address}</td>
                <td>{isThis ? texts.thisOne : formatDate(usedAt)}</td>
                <td>
                  {!isThis && (
                    <button type="button" onClick={() => onDelete(`/sessions/${id}`)}>
                      {texts.end}
                    </button>
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <div class="total">
        <button type="button" onClick={() => onDelete('/sessions')}>
          {texts.endAll}
        </button>
      </div>
    </section>
  );
}

/** The tokens of a person. */
export function TokenList({ credentials: { tokens }, onDelete }: ListProps) {
  const texts = accessTexts.tokens;
  if (tokens.length === 0) return <p class="soft">{texts.none}</p>;
  return (
    <div class="scroll">
      <table>
        <thead>
          <tr>
            <th scope="col">{texts.name}</th>
            <th scope="col">{texts.begins}</th>
            <th scope="col">{texts.scope}</th>
            <th scope="col">{texts.expires}</th>
            <th scope="col">{texts.used}</th>
            <th />
          </tr>
        </thead>
        <tbody>
          {tokens.map(({ token, name, scope, expiresAt, usedAt }) => (
            <tr key={token}>
              <td>{name}</td>
              <td class="code">{texts.begin(token)}</td>
              <td>{accessTexts.roles[scope]}</td>
              <td>{formatDate(expiresAt)}</td>
              <td>{usedAt === null ? texts.never : formatDate(usedAt)}</td>
              <td>
                <button type="button" onClick={() => onDelete(`/tokens/${token}`)}>
                  {texts.revoke}
                </button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** A `User-Agent` in two words, such as “Firefox, Windows”. The order matters: most browsers also name others. */
function describeBrowser(agent: string): string {
  const name = /Edg|OPR|Firefox|Chrom|Safari|curl|node/.exec(agent)?.[0];
  const system = /Windows|Android|iPhone|iPad|Mac OS|Linux/.exec(agent)?.[0];
  const { browsers, unknown } = accessTexts.sessions;
  const known = name === undefined ? unknown : browsers[name as keyof typeof browsers];
  return [known, system].filter(Boolean).join(', ');
}
