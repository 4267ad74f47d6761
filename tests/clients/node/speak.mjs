// How does a client of another language take orders? One JSON document a line, in and out.

import { createInterface } from "node:readline";

// `acts`: name → async function of the order. `told(error)`: {status, document} of a refusal by
// the server, or null where the client itself failed.
export async function speak(acts, told) {
  for await (const line of createInterface({ input: process.stdin })) {
    process.stdout.write(`${JSON.stringify(await reply(acts, told, JSON.parse(line)))}\n`);
  }
}

async function reply(acts, told, order) {
  try {
    return { answer: await acts[order.act](order) };
  } catch (error) {
    const refused = told(error);
    return refused ? { refused } : { failed: String(error.stack ?? error) };
  }
}
