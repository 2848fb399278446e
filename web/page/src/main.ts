import { mount } from "svelte";

import "./app/base.css"; // before the styles of what it is the ground of
import App from "./app/App.svelte";

const target = document.getElementById("app");
if (!target) throw new Error("index.html has no #app");
mount(App, { target });
