-- Turn the few constructs of a calculation package into each output format.

local sheets = pandoc.List()

-- A string of Typst: whatever stands in it is text.
local function quoted(text)
  return '"' .. text:gsub('[\\"]', "\\%0"):gsub("\n", "\\n") .. '"'
end

-- A div becomes a call of a Typst function, a paragraph style in DOCX and a class in HTML.
local function styled(div, name)
  if FORMAT == "typst" then
    div.content:insert(1, pandoc.RawBlock("typst", "#" .. name .. "["))
    div.content:insert(pandoc.RawBlock("typst", "]"))
    return div.content
  end
  div.attributes["custom-style"] = FORMAT == "docx" and name:gsub("^%l", string.upper) or nil
  return div
end

-- In DOCX a field whose stored result is the list of sheets; the reader's program adds the pages.
local function contents(div)
  if FORMAT == "typst" then
    return pandoc.RawBlock("typst", "#outline(title: none, depth: 1)")
  end
  if #sheets == 0 then return {} end
  local links = sheets:map(function(sheet)
    return pandoc.Plain(pandoc.Link(sheet.content, "#" .. sheet.identifier))
  end)
  if FORMAT == "docx" then
    local mark = '<w:r><w:fldChar w:fldCharType="%s"/></w:r>'
    local code = '<w:r><w:instrText xml:space="preserve"> TOC \\o "1-1" \\h </w:instrText></w:r>'
    local open = pandoc.RawInline("openxml", mark:format("begin") .. code .. mark:format("separate"))
    links[1].content:insert(1, open)
    links[#links].content:insert(pandoc.RawInline("openxml", mark:format("end")))
    return pandoc.Div(links, { ["custom-style"] = "toc 1" })
  end
  div.attributes.role = "navigation"
  div.attributes["aria-label"] = "Contents"
  div.content = { pandoc.BulletList(links:map(function(link) return { link } end)) }
  return div
end

local function caution(div)
  local first = div.content[1]
  if first and pandoc.utils.stringify(first):find("^Caution%.") then
    return styled(div, "caution")
  elseif first and (first.t == "Para" or first.t == "Plain") then
    first.content:insert(1, pandoc.Strong("Caution."))
    first.content:insert(2, pandoc.Space())
  else
    div.content:insert(1, pandoc.Para(pandoc.Strong("Caution.")))
  end
  return styled(div, "caution")
end

local function where(div)
  div.content = div.content:walk({
    BulletList = function(list)
      return list.content:map(function(item)
        return pandoc.Para(pandoc.utils.blocks_to_inlines(item))
      end)
    end,
  })
  return styled(div, "where")
end

-- HTML text that may break after the separators of a long name, and in a word that has none.
local ESCAPED = { ["&"] = "&amp;", ["<"] = "&lt;", [">"] = "&gt;" }
local function breakable(text)
  local parts, run = {}, 0
  for _, code in utf8.codes(text) do
    local sign = utf8.char(code)
    run = run + 1
    parts[#parts + 1] = ESCAPED[sign] or sign
    if run == 24 or sign:find("[%._/:]") then
      parts[#parts + 1] = "<wbr>"
      run = 0
    end
  end
  return table.concat(parts)
end

-- Give the columns of a table with long cells widths: short ones what they need, long ones their share of the rest.
local LINE, COLUMN, SHORT = 126, 80, 16
local function proportion(tbl, line)
  line = line or LINE
  local longest, total = {}, 0
  local function measure(rows, head)
    for _, row in ipairs(rows) do
      for i, cell in ipairs(row.cells) do
        local text = pandoc.utils.stringify(cell.contents)
        local size = utf8.len(text) or 0
        if head then -- it may stand in two lines
          size = size // 2
          for word in text:gmatch("%S+") do size = math.max(size, (utf8.len(word) or 0) + 1) end
        end
        longest[i] = math.max(longest[i] or 4, size)
      end
    end
  end
  measure(tbl.head.rows, true)
  for _, body in ipairs(tbl.bodies) do measure(body.body) end
  for _, size in ipairs(longest) do total = total + size + 3 end
  if total < line then return end
  local short, long = 0, 0
  for i, size in ipairs(longest) do
    if size <= SHORT then
      short = short + (size + 3) / line
    else
      longest[i] = math.max(28, math.min(size, 90))
      long = long + longest[i]
    end
  end
  if long == 0 or short > 0.8 then return end
  for i, size in ipairs(longest) do
    local share = size <= SHORT and (size + 3) / line or (1 - short) * size / long
    tbl.colspecs[i] = { tbl.colspecs[i][1], share }
  end
end

-- A part that is set more closely, by the function of its name.
local function close(div)
  if FORMAT == "typst" then return styled(div, div.classes[1]) end
  return FORMAT == "html" and div or div.content
end

-- What an equation takes of the width of a line, in characters.
local function wide(tex)
  local most = 0
  for row in (tex .. "\\\\"):gmatch("(.-)\\\\") do
    row = row:gsub("\\text", ""):gsub("\\mathrm", ""):gsub("\\frac%s*%b{}%s*(%b{})", "%1"):gsub("\\%a+", "x"):gsub("[{}_^&\\ ]", "")
    most = math.max(most, utf8.len(row) or #row)
  end
  return most
end

-- A line of a hand calculation: what it is, the equation, the number by which it is cited.
local LEAD, EQUATION = 110, 58
local function step(lead, equation)
  local last, number = lead.content[#lead.content], ""
  if last and last.t == "Emph" and pandoc.utils.stringify(last):find("^%(.*%)$") then
    number = pandoc.utils.stringify(last)
    lead.content:remove(#lead.content)
    while #lead.content > 0 and lead.content[#lead.content].t == "Space" do lead.content:remove(#lead.content) end
  end
  if FORMAT == "typst" then
    local beside = #pandoc.utils.stringify(lead) <= LEAD and wide(equation.content[1].text) <= EQUATION
    return {
      pandoc.RawBlock("typst", "#step(" .. tostring(beside) .. ")["), lead,
      pandoc.RawBlock("typst", "][#" .. quoted(number) .. "]["), equation, pandoc.RawBlock("typst", "]"),
    }
  end
  if number ~= "" then lead.content:extend({ pandoc.Space(), pandoc.Str(number) }) end
  if FORMAT == "html" then return { pandoc.Div({ lead, equation }, { class = "step" }) } end
  return { pandoc.Div({ lead }, { ["custom-style"] = "Lead" }), equation }
end

local starts_with_equation
local function worked(div)
  local kept, skip = pandoc.Blocks({}), false
  for index, block in ipairs(div.content) do
    local follows = div.content[index + 1]
    if skip then
      skip = false
    elseif block.t == "Para" and not starts_with_equation(block) and starts_with_equation(follows) then
      kept:extend(step(block, follows))
      skip = true
    else
      kept:insert(block)
    end
  end
  div.content = kept
  return FORMAT == "typst" and styled(div, "worked") or kept
end

-- Tables of every line stand in two columns.
local function lines(div)
  if FORMAT ~= "typst" then return div end
  div.content = div.content:walk({ Table = function(tbl)
    if pandoc.utils.stringify(tbl.head.rows[1].cells[1].contents) == "no." then
      local shares = #tbl.colspecs == 4 and { 0.13, 0.38, 0.09, 0.4 } or { 0.13, 0.30, 0.08, 0.29 }
      for i, spec in ipairs(tbl.colspecs) do tbl.colspecs[i] = { spec[1], shares[i] or 0.2 / (#tbl.colspecs - 4) } end
      return tbl
    end
    proportion(tbl, COLUMN)
    return tbl
  end })
  return styled(div, "lines")
end

-- Rows to sign in, of a fixed place and size on the page.
local SIGNS = { 0.22, 0.22, 0.56 }
local function signs(div)
  if FORMAT ~= "typst" then return div.content end
  div.content = div.content:walk({ Table = function(tbl)
    for i, spec in ipairs(tbl.colspecs) do tbl.colspecs[i] = { spec[1], SIGNS[i] } end
    for _, row in ipairs(tbl.bodies[1].body) do row.cells[3].contents = {} end
    return tbl
  end })
  return styled(div, "signs")
end

local divs = { signs = signs, contents = contents, caution = caution, where = where, two = close, worked = worked, lines = lines }

local function bold(blocks)
  return blocks:walk({
    Plain = function(block) return pandoc.Plain(pandoc.Strong(block.content)) end,
  })
end

starts_with_equation = function(block)
  local first = block and block.t == "Para" and block.content[1]
  return first and first.t == "Math" and first.mathtype == "DisplayMath"
end

return {
  {
    Header = function(header)
      if header.level == 1 then sheets:insert(header) end
    end,
    Image = function(image)
      if not image.src:find("^[%w_-]+%.png$") then
        pandoc.log.warn("image outside the package folder: " .. image.src)
        return image.caption
      end
      local file = io.open(pandoc.path.join({ PANDOC_STATE.resource_path[1], image.src }), "rb")
      if not file then
        pandoc.log.warn("image is missing: " .. image.src)
        return image.caption
      end
      pandoc.mediabag.insert(image.src, "image/png", file:read("a"))
      file:close()
      image.attr = { "", {}, { width = image.attributes.width, alt = pandoc.utils.stringify(image.caption) } }
      return image
    end,
    -- Nothing but the sheets of this document is linked, and no element brings attributes of its own.
    Link = function(link)
      return link.target:find("^#") and pandoc.Link(link.content, link.target) or link.content
    end,
    Div = function(div)
      div.attr = { div.identifier:find("^src%-[%w-]+$") and div.identifier or "", { div.classes[1] }, {} }
      return div
    end,
    Span = function(span) return span.content end,
    CodeBlock = function(code) return pandoc.CodeBlock(code.text) end,
    RawBlock = function(raw) return pandoc.CodeBlock(raw.text) end,
    RawInline = function(raw) return pandoc.Code(raw.text) end,
  },
  {
    -- A paragraph that leads to an equation stays on its page.
    Blocks = function(blocks)
      if FORMAT == "html" then return nil end
      local kept = pandoc.Blocks({})
      for index, block in ipairs(blocks) do
        local leads = block.t == "Para" and starts_with_equation(blocks[index + 1])
        kept:extend(pandoc.Blocks(leads and styled(pandoc.Div({ block }), "lead") or block))
      end
      return kept
    end,
    Div = function(div)
      local make = divs[div.classes[1]]
      return make and make(div)
    end,
    Figure = function(figure)
      if FORMAT == "typst" then
        local alt = quoted(pandoc.utils.stringify(figure.caption.long))
        local opening = pandoc.RawBlock("typst", "#[#set image(alt: " .. alt .. ")")
        return { opening, figure, pandoc.RawBlock("typst", "]") }
      end
    end,
    Math = function(math)
      math.text = math.text:gsub("%d+{,}%d[%d{},%.]*", function(number)
        return "\\text{" .. number:gsub("[{}]", "") .. "}"
      end)
      return math
    end,
    Table = function(tbl)
      tbl.colspecs = tbl.colspecs:map(function(spec)
        return spec[1] == "AlignDefault" and { "AlignLeft", spec[2] } or spec
      end)
      proportion(tbl)
      if #tbl.colspecs > 7 then tbl.classes:insert("wide") end
      for _, row in ipairs(tbl.head.rows) do
        for _, cell in ipairs(row.cells) do cell.contents = bold(cell.contents) end
      end
      return tbl
    end,
  },
  {
    -- Last, when no other step asks what the words say.
    Code = function(code)
      if FORMAT == "html" then
        return pandoc.RawInline("html", "<code>" .. breakable(code.text) .. "</code>")
      elseif FORMAT == "typst" then
        return pandoc.RawInline("typst", "#raw(" .. quoted(code.text) .. ");")
      end
    end,
    CodeBlock = function(code)
      if FORMAT == "typst" then
        return pandoc.RawBlock("typst", "#raw(block: true, " .. quoted(code.text) .. ")")
      end
    end,
    Str = function(str)
      if FORMAT == "typst" and str.text == "□" then -- a box to tick, large enough for a pencil
        return pandoc.RawInline("typst", "#box(width: 10pt, height: 10pt, stroke: 0.7pt, baseline: 2pt)")
      end
      if FORMAT == "typst" then -- the writer leaves what begins a cell or an item as it is
        return pandoc.RawInline("typst", "#" .. quoted(str.text) .. ";")
      end
      if FORMAT == "html" and #str.text > 20 then
        return pandoc.RawInline("html", breakable(str.text))
      end
    end,
  },
}
