// At the page that lets devices in: a tablet that was let go clears what it holds, though its own page is not open.

import { close, closedWords } from "./closing.js";
import { make, part } from "./making.js";

const closed = await close();
part("closed").replaceChildren(...closedWords(closed).map((words) => make("span", {}, `${words} `)));
