"""The answer to the prediction on the start page; its words stand in the TOML file beside."""

from boxlab.quiz.exercises import answers_of

answer = answers_of(__name__)
