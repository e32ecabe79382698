-- What a reader who hears the document needs in every format, whatever a sheet brings: no heading without words,
-- no level of headings left out, and words for each picture and equation.

local function told(words, inline)
  if FORMAT ~= "typst" then return nil end
  local string = '"' .. words:gsub("%s+", " "):gsub('[\\"]', "\\%0") .. '"'
  local kind = inline.t == "Math" and "math.equation" or "image"
  return {
    pandoc.RawInline("typst", "#[#set " .. kind .. "(alt: " .. string .. ")\n"),
    inline,
    pandoc.RawInline("typst", "];"),
  }
end

local WORDLESS = { Image = true, Space = true, SoftBreak = true, LineBreak = true }
local function worded(inline) return not WORDLESS[inline.t] end

-- A box that scrolls by itself on a narrow screen, by keyboard too.
local function boxed(class, label, block)
  local said = { { "role", "group" }, { "tabindex", "0" }, { "aria-label", label } }
  return pandoc.Div({ block }, pandoc.Attr("", { class }, said))
end

-- A head cell without words heads nothing; a symbol that stands alone in one becomes words.
local function named(cell)
  local others = 0
  local function count() others = others + 1 end
  cell.contents:walk({ Str = count, RawInline = count, Math = count })
  if others == 0 then cell.attributes.role = "cell" end
  if others ~= 1 then return end
  cell.contents = cell.contents:walk({
    Math = function(math)
      local upright = math.text:gsub("\\mathrm{([%w,]*)}", "%1")
      local letter, index = upright:match("^(%a)_?{?([%w,]*)}?$")
      return letter and { pandoc.Emph(letter), index ~= "" and pandoc.Subscript(index) or nil }
    end,
  })
end

-- In DOCX a field whose stored result is the list of sheets and sections; the reader's program adds the pages.
local function contents(heads)
  local mark = '<w:r><w:fldChar w:fldCharType="%s"/></w:r>'
  local code = '<w:r><w:instrText xml:space="preserve"> TOC \\o "1-2" \\h </w:instrText></w:r>'
  local open = pandoc.RawInline("openxml", mark:format("begin") .. code .. mark:format("separate"))
  local links = heads:map(function(head) return pandoc.Plain(pandoc.Link(head.content, "#" .. head.identifier)) end)
  links[1].content:insert(1, open)
  links[#links].content:insert(pandoc.RawInline("openxml", mark:format("end")))
  return links:map(function(link, index)
    return pandoc.Div({ link }, pandoc.Attr("", {}, { { "custom-style", "toc " .. heads[index].level } }))
  end)
end

local level = 0

return {
  {
    Header = function(header)
      if not header.content:find_if(worded) then return pandoc.Para(header.content) end
      header.level = math.min(header.level, level + 1)
      level = header.level
      return header
    end,
  },
  {
    Image = function(image)
      local words = image.attributes.alt or pandoc.utils.stringify(image.caption)
      image.attributes.alt = words ~= "" and words or "Figure without a caption"
      return told(image.attributes.alt, image) or image
    end,
    Math = function(math) return told(math.text, math) end,
  },
  FORMAT == "html" and {
    Table = function(tbl)
      for _, row in ipairs(tbl.head.rows) do row.cells:map(named) end
      return boxed("table", "Table", tbl)
    end,
    Para = function(para)
      local first = para.content[1]
      if first and first.t == "Math" and first.mathtype == "DisplayMath" then return boxed("equation", "Equation", para) end
    end,
  } or {},
  FORMAT == "docx" and {
    Pandoc = function(doc)
      local heads = pandoc.List()
      doc.blocks:walk({ Header = function(header) if header.level <= 2 then heads:insert(header) end end })
      return doc:walk({ Div = function(div) return div.attributes["custom-style"] == "toc 1" and contents(heads) or nil end })
    end,
  } or {},
}
