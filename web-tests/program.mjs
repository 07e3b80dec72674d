// Starts the program under test and a browser beside it.
import { execFile, spawn } from "node:child_process";
import { accessSync, constants, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { chromium } from "playwright-core";

/** The program: as test.sh names it, else where a release build lies. */
export const PROGRAM = process.env.BEATWRIGHT ?? fileURLToPath(new URL("../target/release/beatwright", import.meta.url));

/** The first of these commands that is there. @param {string[]} names */
function inPath(names) {
  for (const name of names) {
    for (const folder of (process.env.PATH ?? "").split(delimiter)) {
      const path = join(folder, name);
      try {
        accessSync(path, constants.X_OK);
        return path;
      } catch {
        // Not in this folder.
      }
    }
  }
  throw new Error(`none of ${names.join(", ")} is in PATH: install chromium`);
}

/** What the program prints on a command that ends by itself; a finding (status 1) is an answer too. @param {string[]} args */
export async function printed(...args) {
  const most = { maxBuffer: 1 << 26 };
  try {
    return (await promisify(execFile)(PROGRAM, args, most)).stdout;
  } catch (error) {
    if (error.code === 1) return error.stdout;
    throw error;
  }
}

/** A folder for what the program keeps of itself. */
export const stateFolder = () => mkdtempSync(join(tmpdir(), "beatwright-web-"));
export const removeFolder = (folder) => rmSync(folder, { recursive: true, force: true });

/**
 * Starts the bench.
 * @param {{ state: string, port?: number }} how folder of its state; port, any where none is given
 * @returns {Promise<{ url: string, port: number, pid: number, state: string, stop: () => Promise<void> }>}
 */
export function startBench({ state, port = 0 }) {
  const child = spawn(PROGRAM, ["--no-open", "--port", String(port)], {
    env: { ...process.env, XDG_STATE_HOME: state },
    stdio: ["ignore", "pipe", "pipe"],
  });
  const ended = new Promise((done) => child.once("exit", done));
  const stop = async () => {
    child.kill("SIGINT");
    await ended;
  };
  return new Promise((done, failed) => {
    let said = "";
    const read = (chunk) => {
      said += chunk;
      const url = said.match(/http:\S+/)?.[0];
      if (url) done({ url, port: Number(new URL(url).port), pid: child.pid, state, stop });
    };
    child.stdout.on("data", read);
    child.stderr.on("data", (chunk) => (said += chunk));
    child.once("error", (error) => failed(new Error(`could not start ${PROGRAM}: ${error.message}; build it first`)));
    void ended.then((code) => failed(new Error(`the bench ended with status ${code}: ${said}`)));
  });
}

/** A browser. @param {string[]} [more] of its switches */
export const startBrowser = (more = []) =>
  chromium.launch({ executablePath: inPath(["chromium", "chromium-browser"]), args: ["--force-color-profile=srgb", ...more] });
