import { mount } from "svelte";

import App from "./app/App.svelte";
import "./app/base.css";

const target = document.getElementById("app");
if (!target) throw new Error("index.html has no #app");
mount(App, { target });
