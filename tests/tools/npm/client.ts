// A client as an integrator would write it, against types made from the OpenAPI document.
// It is compiled, never run: what must not compile is marked, and the marks are checked too.

import type { components, paths } from "./contract";

type Ticket = components["schemas"]["Ticket"];
type AnswerLine = components["schemas"]["AnswerLine"];
type Expand = paths["/v1/expand"]["post"];
type Answer = Expand["responses"][200]["content"]["application/json"];
type Posted = Expand["requestBody"]["content"]["application/json"];

export const ticket: Ticket = {
  site: "bookshop",
  lang: "en",
  lines: [
    {
      line: "1",
      drink: "latte",
      modifiers: [{ id: "milk", value: "oat-drink" }, { id: "temperature", value: 55 }, { id: "shots", count: 1 }],
    },
  ],
};
export const posted: Posted = ticket;

export function told(line: AnswerLine): string {
  switch (line.verdict) {
    case "accept":
      return `${line.line}: ${line.build?.name ?? line.canonical.drink}, ${line.price.amount} ${line.price.currency}`;
    case "ask":
      return `${line.question} ${line.choices.map((choice) => choice.text).join(" / ")}`;
    case "refuse":
      return line.refusals.map((refusal) => `${refusal.pointer}: ${refusal.text}`).join("\n");
    default:
      return never(line);
  }
}

export function milk(answer: Answer): number[] {
  return answer.lines.flatMap((line) => {
    // @ts-expect-error: only an accepted line has a build, so it cannot be read before narrowing.
    void line.build;
    const poured = line.verdict === "accept" ? line.build?.milk?.pour_ml : undefined;
    return poured === undefined ? [] : [poured];
  });
}

// @ts-expect-error: a ticket names its site.
export const nowhere: Ticket = { lines: [] };

// @ts-expect-error: a ticket has no field of that name.
export const misspelt: Ticket = { site: "bookshop", lines: [], sight: "bookshop" };

function never(line: never): never {
  throw new Error(`a verdict that the contract does not list: ${JSON.stringify(line)}`);
}
