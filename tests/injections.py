"""Texts that a job may hold by accident or by ill will, each of which must come out of a document as itself."""

#: CANARY stands for the path of a file whose content must never turn up.
INJECTIONS = (
    # style sheets and HTML
    "P\"; } body { background: url(/CANARY) } /*", "'; } @import '/CANARY'; a { b: '", "</style><script>alert(1)</script>",
    "\" onload=\"alert(1)", "0;url=http://127.0.0.1:9/\" http-equiv=\"refresh", "<script>alert(1)</script>", "<img src=x onerror=alert(1)>",
    "<iframe src=\"/CANARY\"></iframe>", "--><svg onload=alert(1)>", "<!-- hidden -->", "</title><b>bold</b>", "</main></body>",
    "&lt;b&gt; &amp; &#60;script&#62; &nbsp;", "<a href=\"javascript:alert(1)\">x</a>", "<div class=\"caution\">", "</div>", "<?php echo 1 ?>",
    "]]> <![CDATA[ x ]]>", "javascript:alert(1)", "expression(alert(1))", "\\000041 \\41 css",
    # Markdown
    "# heading", "## heading {onclick=\"alert(1)\"}", "- item", "* item", "+ item", "1. item", "1) item", "a. item", "(iv) item", "#. item",
    "> quoted", "    code by indent", "~~~", "``` {=html}", "`<b>raw</b>`{=html}", "`code`", "---", "***", "___", "===", ": definition",
    "Table: a caption", "::: {.caution}", ":::", "*emphasis* _emphasis_ **strong** __strong__", "super^script^ sub~script~ ~~struck~~",
    "[link](http://127.0.0.1:9/)", "[link][1]", "[1]: http://127.0.0.1:9/", "<http://127.0.0.1:9/>", "http://127.0.0.1:9/x_y_z", "<a@b.example>",
    "![image](/CANARY)", "![image](http://127.0.0.1:9/x.png)", "[span]{onclick=\"alert(1)\"}", "[^1] ^[note]", "[^1]: note", "[@cited] @cited",
    "| a | b |", "|---|---|", "+---+---+", "a | b || c", "*[HTML]: shown", "(@) example", "{{< include /CANARY >}}", "[ ] task", "% title",
    ":smile: -- --- ... \"smart\" 'smart'", "back\\slash \\* \\", "line\\", "&copy;", "!include(/CANARY)", "$x$ and $$y$$", "5 $ or 6 $",
    "\\(x\\) \\[y\\]",
    # TeX and Typst
    "\\input{/CANARY}", "$\\frac{a$", "\\begin{aligned}", "\\write18{id}", "%comment", "#read(\"/CANARY\")", "#include \"/CANARY\"",
    "#image(\"/CANARY\")", "#let x = 1", "#eval(\"1\")", "#", "#(1+1)", "= heading", "/ term: x", "<label> @label", "*strong* _emph_ `raw`",
    "// comment", "/* comment */", "\\u{41}", "~ -? --", "\"] #panic() [\"",
    # templates, metadata, Lua, XML, spreadsheets, mathtext
    "${title} $title $$ ${", "$body$ $for(x)$ $endfor$ $if(x)$", "%(title)s {title} {0}", "{{ title }} {% raw %}", "true", "false", "null", "~",
    "title: x", "!!python/object/apply:os.system [id]", "]] os.execute('id') --[[", "pandoc.read('x')", "&xxe; <!ENTITY xxe SYSTEM \"/CANARY\">",
    "<w:p><w:r/></w:p>", "w:val=\"Compact\"", "<m:jc m:val=\"center\" />", "=cmd|'/c calc'!A0", "@SUM(1)", "$\\alpha_i$ x_1^2", "_hidden", "\\mathdefault{x}",
    "%s %d %n", "../../CANARY", "file:" + "///CANARY", "data:text/html;base64,PGI+", "Caution. Caution:", "□".replace("□", "☐"), "…–—“”‘’ ½ °C µ ≤ Ω é Ж",
)  # fmt: skip
